"""Lay out the whole job before anything is cut."""

from service.domain.errors import UnknownReference
from service.domain.layout.blocking import support_notes, support_posts
from service.domain.layout.choice_records import Preference
from service.domain.layout.clearances import unknown_reach
from service.domain.layout.deck import Deck, OpeningKind, Stair
from service.domain.layout.edge_plan import plan_level
from service.domain.layout.flights import add_stair
from service.domain.layout.frame import Frame
from service.domain.layout.gates import gate_steps, hang_gates
from service.domain.layout.guard_line import trace_guard
from service.domain.layout.handrails import handrails_of
from service.domain.layout.infill import climbing_note
from service.domain.layout.infill_cables import cable_steps, string_cables
from service.domain.layout.infill_records import CableRun
from service.domain.layout.landings import break_into_flights
from service.domain.layout.level_runs import add_level
from service.domain.layout.records import Layout, StairPlan
from service.domain.layout.sections import build_section
from service.domain.layout.sequence import install
from service.domain.layout.stair_records import Handrail
from service.domain.layout.standing_room import refuse_posts_in_the_way
from service.domain.layout.survey import check_deck
from service.domain.layout.system import Cables, RailingSystem
from service.domain.layout.transitions import raked_fits, transitions


def lay_out(deck: Deck, system: RailingSystem, preference: Preference | None = None) -> Layout:
    """Lay out posts, runs, sections and stair rails, and the order they go in.

    Args:
        deck: As taped.
        system: The railing system.
        preference: What the division of runs is ranked by; fewest posts without one. The joint
            choice that LEAST_MATERIAL asks for is made by the use case, through ``picks``.

    Raises:
        InvalidGeometry: An outline is no simple polygon.
        UnbuildableLayout: The system cannot be built on this deck; the error says where and what
            would make it buildable.
        UnknownReference: An opening names no stair, or a stair has no opening.
    """
    checked = check_deck(deck, system)
    deck = break_into_flights(checked.deck)
    stairs = {stair.name: stair for stair in deck.stairs}
    _refuse_loose_names(deck, stairs)
    frame = Frame(system, preference or Preference())
    plans = [plan_level(level, stairs, system) for level in deck.levels]
    for plan in plans:
        add_level(frame, trace_guard(plan))
    stair_plans: list[StairPlan] = []
    for plan in plans:
        for edge in plan.edges:
            for placed in edge.openings:
                if placed.opening.kind is OpeningKind.STAIR:
                    stair = stairs[placed.opening.name]
                    stair_plans.append(add_stair(frame, plan, edge, placed.low_nm, stair))
    refuse_posts_in_the_way(deck, frame.posts, frame.runs, system)
    gates = hang_gates(frame, plans, stair_plans)
    placings, steps = install(frame)
    sections = tuple(build_section(frame, placing, deck.conditions) for placing in placings)
    cables: tuple[CableRun, ...] = ()
    if isinstance(system.infill, Cables):
        names = [(placing.span, placing.name) for placing in placings]
        cables = string_cables(frame, names, system.infill)
        steps += cable_steps(cables, len(steps))
    if deck.conditions:
        joints = {end.joint for section in sections for end in (section.start, section.end)}
        frame.notes.extend(unknown_reach(joints, system))
    steps += gate_steps(gates, len(steps))
    supports, blocks = support_posts(deck, system, tuple(frame.posts.values()))
    return Layout(
        deck=deck,
        system=system,
        posts=tuple(frame.posts.values()),
        runs=tuple(frame.runs),
        sections=sections,
        stairs=tuple(stair_plans),
        openings=tuple(frame.openings),
        steps=steps,
        choices=tuple(frame.choices),
        handrails=_handrails(deck, system),
        transitions=transitions(frame, sections),
        raked_fits=tuple(fit for section in sections for fit in raked_fits(section, system)),
        notes=(*checked.notes, *frame.notes, *climbing_note(sections), *support_notes(supports)),
        cables=cables,
        supports=supports,
        blocks=blocks,
        gates=gates,
        surveys=checked.surveys,
    )


def _handrails(deck: Deck, system: RailingSystem) -> tuple[Handrail, ...]:
    found: tuple[Handrail, ...] = ()
    if system.handrail is not None:
        for stair in deck.stairs:
            found += handrails_of(stair, system.handrail, len(found) + 1)
    return found


def _refuse_loose_names(deck: Deck, stairs: dict[str, Stair]) -> None:
    used: set[str] = set()
    for level in deck.levels:
        for edge in level.edges:
            for opening in edge.openings:
                if opening.kind is not OpeningKind.STAIR:
                    continue
                if opening.name not in stairs or opening.name in used:
                    problem = "twice" if opening.name in used else "which is not in stairs"
                    raise UnknownReference(
                        f"edge {edge.number} of level {level.name} names stair {opening.name} "
                        f"{problem}",
                        element=f"level {level.name}, edge {edge.number}",
                        where=level.where(edge),
                        advice="Name each stair of the deck in one edge.",
                    )
                used.add(opening.name)
    for name, stair in stairs.items():
        if name not in used:
            raise UnknownReference(
                f"no edge has an opening for stair {name}",
                element=f"stair {name}",
                where=("deck", "stairs", stair.index),
                advice="Give one edge the kind stair and this stair's name.",
            )

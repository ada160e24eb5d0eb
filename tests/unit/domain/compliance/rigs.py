"""Decks on which one measure gives one value, and whatever else a clause asks for holds.

A rig turns a value into changes of the hand-written layout of ``builders`` and into a site, so that
every clause of every file can be held below, at and above its limit. What a rig gives follows from
plane geometry beside it, never from the measure under test.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from service.domain.compliance.findings import Clause, Comparison
from service.domain.compliance.measures_slope import SLOPE_STEPS
from service.domain.compliance.site import (
    GateFacts,
    Grip,
    GripShape,
    Recess,
    ReleaseSide,
    RiserKind,
    Site,
    StairFacts,
    Use,
)
from service.domain.layout.deck import Side
from service.domain.layout.records import ClearOpening
from service.domain.layout.system import Mount
from service.domain.lengths import inches, millimetres
from tests.unit.domain.compliance.builders import handrail, inch

GAP = inches(1)
RISE = inch("7-1/2")
FIVE_METRES = millimetres(5_000)


@dataclass
class Deck:
    """Changes of the layout, and the site, that make up one deck."""

    built: dict[str, Any] = field(default_factory=dict)
    site: Site = field(default_factory=Site)


Rig = Callable[[int, Clause], Deck]


def _built(name: str) -> Rig:
    return lambda value, _clause: Deck({name: value})


def _facts(**facts: Any) -> Deck:
    return Deck(site=Site(stairs={0: StairFacts(**facts)}))


def _fact(name: str) -> Rig:
    return lambda value, _clause: _facts(**{name: value})


def _uneven(name: str) -> Rig:
    """Tape one step that differs by the value from the ones beside it."""
    return lambda value, _clause: _facts(**{name: (RISE, RISE + value, RISE)})


def _guard_height(value: int, clause: Clause) -> Deck:
    place = clause.applies_when.get("place")
    names = {"level": ["guard_height_nm"], "stair": ["stair_guard_height_nm"]}
    both = ["guard_height_nm", "stair_guard_height_nm"]
    return Deck(dict.fromkeys(names.get(place or "", both), value))


def _opening(value: int, clause: Clause) -> Deck:
    place = clause.applies_when.get("place", "level")
    if clause.applies_when.get("between") == "cables":
        return Deck({"openings": (ClearOpening("S1", "between cables", value, False),)})
    small = {"level_gaps": (GAP,) * 3, "stair_gaps": (GAP,) * 3, "bottom_gap_nm": GAP}
    return Deck({**small, f"{place}_gaps": (GAP, value, GAP)})


def _upright_gap(value: int, clause: Clause) -> Deck:
    deck = Deck({"level_gaps": (value,) * 4, "guard_height_nm": inches(36)})
    for condition in clause.conditions:
        if condition.compare is Comparison.AT_LEAST:  # rails far apart: a high guard
            deck.built["guard_height_nm"] = inches(60)
    return deck


def _triangle(value: int, _clause: Clause) -> Deck:
    """A 90 mm riser, 120 mm run, no nosing: diameter = 60 mm + 2/3 of the rail's height.

    3 : 4 : 5, so that riser + run - slope = 90 + 120 - 150 = 60 mm, scaled by 1 + gap / 90.
    """
    gap, rest = divmod(3 * (value - millimetres(60)), 2)
    return Deck({
        "total_rise": millimetres(20 * 90), "risers": 20, "unit_run": millimetres(120),
        "nosing": 0, "stair_bottom_gap_nm": gap + rest,
    })  # fmt: skip


def _pitch(value: int, _clause: Clause) -> Deck:
    """So many seconds of arc, rounded down to the nanometre of the total rise."""
    run = inches(10)
    rise = math.floor(7 * run * math.tan(math.radians(value / 3600)))
    return Deck({"total_rise": rise, "risers": 7, "unit_run": run})


def _flight_rise(value: int, _clause: Clause) -> Deck:
    return Deck({"total_rise": value, "risers": value // RISE + 1})


def _riser_gap(value: int, _clause: Clause) -> Deck:
    return _facts(riser_kind=RiserKind.OPEN, tread_thickness_nm=RISE - value)


def _landing(value: int, _clause: Clause) -> Deck:
    deck = _facts(top_landing_nm=value, bottom_landing_nm=value)
    deck.built["width"] = inches(60)
    return deck


def _handrail(name: str) -> Rig:
    return lambda value, _clause: Deck({"handrails": (handrail(**{name: value}),)})


def _handrail_sides(value: int, _clause: Clause) -> Deck:
    return Deck({"railed": tuple(Side)[:value]})


def _grip(**known: Any) -> Deck:
    return Deck(site=Site(grip=Grip(**{"shape": GripShape.OTHER, **known})))


def _recess(name: str) -> Rig:
    recess = Recess(inch("1/2"), inch("1/2"), inches(2))

    def rig(value: int, _clause: Clause) -> Deck:
        return _grip(perimeter_nm=inches(7), recess=replace(recess, **{name: value}))

    return rig


def _gate(**facts: Any) -> Deck:
    return Deck({"leaf_height": inches(60)}, Site(gates={"gate": GateFacts(**facts)}))


def _release(value: int, clause: Clause) -> Deck:
    """A leaf of 60 in, released so far below its top or above its bottom."""
    side = ReleaseSide(clause.applies_when["release_side"])
    height = inches(60) - value if side is ReleaseSide.POOL else value
    return _gate(release_nm=height, release_side=side)


def _deepest_out(value: int, _clause: Clause) -> Deck:
    """Ground that is deepest so far out and higher again ten feet out."""
    falls = ((0, inches(20)), (value, inches(60)), (inches(120), inches(10)))
    return Deck({"falls": falls, "stairs": False})


RIGS: dict[str, Rig] = {
    "drop_reaches": _deepest_out,
    "gates_shutting": lambda value, _: _gate(
        closes=bool(value), latches=True, opens_from_pool=True
    ),
    "release_heights": _release,
    "releases_below_top": _release,
    "release_openings": lambda value, _: _gate(release_nm=inches(50), opening_nm=value),
    "stair_slopes": lambda value, _: _facts(
        tread_slope=Fraction(value, SLOPE_STEPS), landing_slope=Fraction(0)
    ),
    "riser_leans": lambda value, _: _facts(riser_lean_deg=Fraction(value, 3600)),
    "guard_needs": lambda value, _: Deck({"fall": value, "guarded": False, "stairs": False}),
    "guard_heights": _guard_height,
    "climbable_members": lambda value, _: Deck(
        {"bottom_gap_nm": value - inches(1), "stairs": False}
    ),
    "edge_gaps": lambda value, _: Deck({"set_back_nm": value + inch("3/4")}),  # rail 1-1/2 in wide
    "clear_openings": _opening,
    "gaps_under": _built("bottom_gap_nm"),
    "upright_gaps": _upright_gap,
    "stair_triangles": _triangle,
    "stair_risers": lambda value, _: Deck({"total_rise": 7 * value}),
    "stair_treads": _built("unit_run"),
    "stair_nosings": _built("nosing"),
    "riser_spreads": _uneven("risers_nm"),
    "riser_steps": _uneven("risers_nm"),
    "riser_gaps": _riser_gap,
    "riser_counts": lambda value, _: Deck({"risers": value, "total_rise": value * RISE}),
    "tread_spreads": _uneven("treads_nm"),
    "tread_steps": _uneven("treads_nm"),
    "nosing_spreads": _uneven("nosings_nm"),
    "nosing_radii": _fact("nosing_radius_nm"),
    "step_sums": lambda value, _: Deck({"unit_run": value - 2 * RISE}),
    "stair_pitches": _pitch,
    "flight_rises": _flight_rise,
    "headrooms": _fact("headroom_nm"),
    "landing_depths": _landing,
    "stair_widths_between_rails": _built("clear_width"),
    "stair_widths_between_guards": _built("clear_width"),
    "stair_widths_above_rails": _built("width"),
    "handrail_needs": lambda value, _: Deck({"risers": value, "railed": ()}),
    "handrail_rises": lambda value, _: Deck({"total_rise": value, "railed": ()}),
    "handrail_sides": _handrail_sides,
    "handrail_heights": _built("stair_guard_height_nm"),
    # Lowest riser 59 in out; one whole tread beyond is 69 in.
    "handrail_continuity": lambda value, _: Deck({"bottom_x": inches(59) - 1 + value}),
    "handrail_bottom_extensions": lambda value, _: Deck(
        {"handrails": (handrail(end_nm=inches(69) - 1 + value),)}
    ),
    "handrail_ends": lambda value, _: Deck(
        {"handrails": (handrail(returns_nm=(GAP, GAP) if value else ()),)}
    ),
    "handrail_clearances": _handrail("clearance_nm"),
    "handrail_projections": _handrail("projection_nm"),
    "handrail_top_extensions": _handrail("top_extension_nm"),
    "handrail_bracket_spacings": lambda value, _: Deck(
        {"handrails": (handrail(brackets_nm=(GAP, GAP + value)),)}
    ),
    "handrail_reaches": lambda value, _: Deck({"clear_width": 2 * value}),
    "grip_diameters": lambda value, _: _grip(shape=GripShape.ROUND, diameter_nm=value),
    "grip_perimeters": lambda value, _: _grip(perimeter_nm=value),
    "grip_cross_dimensions": lambda value, _: _grip(perimeter_nm=inches(6), cross_nm=value),
    "grip_edges": lambda value, _: _grip(edge_radius_nm=value),
    "grip_widths": _recess("width_nm"),
    "recess_starts": _recess("start_nm"),
    "recess_depths": _recess("depth_nm"),
}


def rigged(clause: Clause, value: int) -> Deck:
    """Give a deck on which the clause's measure takes this value and everything it asks holds."""
    deck = RIGS[clause.measure](value, clause)
    words, built, site = clause.applies_when, deck.built, deck.site
    use = site.use
    if "no" in {words.get(name) for name in ("dwelling", "private", "one_or_two_family")}:
        use = Use.PUBLIC
    elif words.get("dwelling") == "yes" or words.get("private") == "yes":
        use = Use.ONE_FAMILY
    deck.site = replace(site, use=Use(words["use"]) if "use" in words else use, pool=True)
    if words.get("riser_kind") == "open" and not site.stairs:
        deck.site = replace(deck.site, stairs={0: StairFacts(riser_kind=RiserKind.OPEN)})
    if words.get("rails") == "1":
        built["sides"] = (Side.LEFT,)
    if words.get("mount") == "side":
        built["mount"] = Mount.FASCIA
    for condition in clause.conditions:
        if condition.attribute == "drop" or (
            condition.attribute == "surface_height" and condition.compare is Comparison.MORE_THAN
        ):
            built["fall"] = max(FIVE_METRES, condition.limits[0].base + 1)
        elif condition.attribute == "guard_height":
            built["guard_height_nm"] = inches(42)
        elif condition.attribute == "risers" and condition.compare is Comparison.AT_MOST:
            built["risers"] = condition.limits[0].base
    return deck


SMALLEST_STEP = {"stair_triangles": 2}  # [nm]: two of diameter are three of the rail's height
GREATEST = {"handrail_sides": 2}  # a stair has two sides

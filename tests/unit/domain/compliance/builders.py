"""A small layout written out by hand: one guarded edge and one stair with rails on both sides.

It does not come from the layout engine, so that the checks stand on their own. Invented numbers:
posts 2 in, pickets 3/4 in, stair of 7 risers of 7-1/2 in over runs of 10 in.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import atan2, degrees

from service.adapters.code_library import open_library
from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Finding, Outcome
from service.domain.compliance.site import NOTHING_SAID, Site
from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Fall,
    Footing,
    Level,
    Opening,
    OpeningKind,
    Side,
    Stair,
    Swing,
)
from service.domain.layout.gate_records import Gate
from service.domain.layout.records import (
    Bay,
    ClearOpening,
    Layout,
    PicketRow,
    Post,
    PostPosition,
    RailEnd,
    Rake,
    Run,
    Section,
    StairPlan,
)
from service.domain.layout.stair_records import Handrail, HandrailMount
from service.domain.layout.system import (
    Assembly,
    JointKind,
    Method,
    Mount,
    Pickets,
    PostStock,
    RailingSystem,
    RailProfile,
)
from service.domain.lengths import INCH, inches

LIBRARY = open_library()


def inch(value: str | int) -> int:
    """Read "4-3/8" as nanometres."""
    return int(sum(Fraction(part) for part in str(value).split("-")) * INCH)


def system(**changes: int | RailProfile | Method | Mount) -> RailingSystem:
    """Give the invented railing system."""
    values = {
        "name": "test rail",
        "method": Method.CONTINUOUS,
        "assembly": Assembly.PREFABRICATED,
        "mount": Mount.SURFACE,
        "guard_height_nm": inches(36),
        "stair_guard_height_nm": inches(36),
        "bottom_gap_nm": inches(3),
        "stair_bottom_gap_nm": inches(0, 1, 2),
        "set_back_nm": inches(3),
        "stair_set_back_nm": inches(3),
        "tread_set_back_nm": inches(5),
        "foot_offset_nm": inches(3),
        "post_width_nm": inches(2),
        "post_above_rail_nm": inches(1),
        "posts": (PostStock("post", inches(60)),),
        "top_rail": RailProfile(inches(1, 1, 4), inches(1, 1, 2)),
        "bottom_rail": RailProfile(inches(1), inches(1, 1, 2)),
        "pickets": Pickets(inches(0, 3, 4), inches(4, 1, 2), inches(5), inches(4)),
        "max_span_nm": inches(96),
        "max_stair_span_nm": inches(96),
        "wall_clearance_nm": inches(2),
        "line_post_cut_nm": inches(1),
        "max_section_nm": inches(192),
        "max_unsupported_nm": inches(96),
        "max_rake_deg": 42.0,
    }
    return RailingSystem(**{**values, **changes})  # type: ignore[arg-type]


def row(gaps: Sequence[int], width: int, post: int) -> tuple[PicketRow, int]:
    """Give pickets with these clear gaps between post faces, and the distance post to post."""
    centres, face = [], post // 2
    for gap in gaps[:-1]:
        centres.append(face + gap + width // 2)
        face += gap + width
    length = face + gaps[-1] + post // 2
    pitch = centres[1] - centres[0] if len(centres) > 1 else 0
    ends = (gaps[0], gaps[-1])
    return PicketRow(tuple(centres), (), width, inches(30), pitch, ends, "gap"), length


def _section(
    number: int, run: str, start: str, end: str, pickets: PicketRow, length: int, rake: Rake | None
) -> Section:
    joint = JointKind.FIXED if rake is None else JointKind.STAIR
    return Section(
        name=f"S{number}",
        run=run,
        start=RailEnd(start, joint),
        end=RailEnd(end, joint),
        line_posts=(),
        line_posts_nm=(),
        carries=(),
        length_nm=length,
        clear_nm=length - inches(2),
        rails=(),
        pickets=pickets,
        rake=rake,
    )


def _post(name: str, position: PostPosition, at: tuple[int, int], base: int, surface: str) -> Post:
    stair = "" if position is PostPosition.END else "garden stair"
    height = inches(39) if base == 0 else inches(44)
    return Post(name, position, at, 0.0, 0.0, surface, base, height, "post", "main", 1, stair)


def layout(
    *,
    fall: int | None = inches(50),
    guarded: bool = True,
    level_gaps: Sequence[int] = (inches(3),) * 4,
    stair_gaps: Sequence[int] = (inches(3),) * 4,
    openings: tuple[ClearOpening, ...] = (),
    total_rise: int = inches(52, 1, 2),
    risers: int = 7,
    unit_run: int = inches(10),
    width: int = inches(48),
    clear_width: int = inches(40),
    nosing: int = inches(1),
    sides: Sequence[Side] = (Side.LEFT, Side.RIGHT),
    railed: Sequence[Side] | None = None,
    stairs: bool = True,
    bottom_x: int | None = None,
    bottom_surface: str = "slab",
    bays: int = 1,
    handrails: tuple[Handrail, ...] = (),
    falls: Sequence[tuple[int, int]] = (),
    leaf_height: int | None = None,
    **changes: int | RailProfile | Method | Mount,
) -> Layout:
    """Give a layout: edge 1 from (0, 0) to the right, the stair going down from it.

    The head of the stair is at x = 4 ft to 8 ft; the guard runs from 0 to 4 ft. With a leaf's
    height a gate stands in the edge.
    """
    railing = system(**changes)
    gate = Gate(
        "gate", "main", 1, "P1", "P2", inches(36), inches(35), leaf_height or 0, Swing.IN, Side.LEFT
    )
    opening = Opening(OpeningKind.GATE, "gate", inches(36))
    edges = (
        Edge(
            EdgeKind.OPEN,
            1,
            fall,
            guarded,
            () if leaf_height is None else (opening,),
            falls=tuple(Fall(*one) for one in falls),
        ),
        *(Edge(EdgeKind.WALL, number) for number in (2, 3, 4)),
    )
    corners = ((0, 0), (inches(96), 0), (inches(96), inches(96)), (0, inches(96)))
    posts, runs, sections = [], [], []
    if guarded:
        pickets, length = row(level_gaps, railing.pickets.width_nm, railing.post_width_nm)
        for name, x in (("P1", 0), ("P2", length)):
            posts.append(_post(name, PostPosition.END, (x, inches(3)), 0, "deck"))
        bay = Bay("P1", "P2", length)
        runs.append(Run("R1", "main", 1, "", None, "P1", "P2", length, (bay,), fall))
        sections.append(_section(1, "R1", "P1", "P2", pickets, length, None))
    flight = Stair(
        "garden stair", total_rise, risers, unit_run, width, nosing, frozenset(sides), Footing.SLAB
    )
    run_nm = risers * unit_run
    rake = Rake(total_rise, run_nm, degrees(atan2(total_rise, run_nm)))
    foot = (risers - 1) * unit_run - nosing + inches(3) if bottom_x is None else bottom_x
    for side in (sides if railed is None else railed) if stairs else ():
        number = len(runs) + 1
        top, bottom = f"P{2 * number - 1}", f"P{2 * number}"
        x = inches(96) if side is Side.LEFT else inches(48)
        posts.append(_post(top, PostPosition.STAIR_TOP, (x, inches(3)), 0, "deck"))
        posts.append(
            _post(bottom, PostPosition.STAIR_BOTTOM, (x, -foot), -total_rise, bottom_surface)
        )
        length = foot + inches(3)
        name = f"R{number}"
        spans = tuple(Bay(top, bottom, length // bays) for _ in range(bays))
        runs.append(
            Run(name, "main", 1, flight.name, side, top, bottom, length, spans, total_rise, rake)
        )
        pickets, _ = row(stair_gaps, railing.pickets.width_nm, railing.post_width_nm)
        sections.append(_section(number, name, top, bottom, pickets, length, rake))
    plan = StairPlan(
        flight.name, "main", 1, ((inches(96), 0), (inches(48), 0)), (0.0, -1.0), rake,
        clear_width, Footing.SLAB,
    )  # fmt: skip
    return Layout(
        deck=Deck((Level("main", corners, edges),), (flight,) if stairs else ()),
        system=railing,
        posts=tuple(posts),
        runs=tuple(runs),
        sections=tuple(sections),
        stairs=(plan,) if stairs else (),
        openings=openings,
        steps=(),
        notes=(),
        handrails=handrails,
        gates=() if leaf_height is None else (gate,),
    )


def handrail(**changes: int | tuple[int, ...]) -> Handrail:
    """Give a handrail on brackets on the stair's left side, from riser to riser and beyond."""
    values = {
        "name": "H1",
        "stair": "garden stair",
        "side": Side.LEFT,
        "mount": HandrailMount.GUARD,
        "height_nm": inches(36),
        "start_nm": -inches(1),
        "end_nm": inches(69),
        "slope_nm": inches(80),
        "top_extension_nm": inches(12),
        "returns_nm": (inches(2), inches(2)),
        "pieces_nm": (inches(12), inches(80)),
        "brackets_nm": (inches(4), inches(40), inches(76)),
        "clearance_nm": inches(2),
        "projection_nm": inches(3, 1, 2),
        "saw_deg": 36.87,
    }
    return Handrail(**{**values, **changes})  # type: ignore[arg-type]


def findings(
    key: str, built: Layout, edition: str = "2021", *, code: str = "IRC", site: Site = NOTHING_SAID
) -> list[Finding]:
    """Hold every clause of an edition against a layout and give the findings of one."""
    found = assess(LIBRARY.clauses(code, edition), built, site=site)
    return [finding for finding in found if finding.clause.key == key]


def outcome_of(
    key: str, built: Layout, edition: str = "2021", *, code: str = "IRC", site: Site = NOTHING_SAID
) -> Outcome:
    """Give the worst outcome among the findings of a clause."""
    outcomes = {finding.outcome for finding in findings(key, built, edition, code=code, site=site)}
    worst_first = (Outcome.NOT_MET, Outcome.NOT_ASSESSED, Outcome.MET, Outcome.NOT_APPLICABLE)
    return next(outcome for outcome in worst_first if outcome in outcomes)

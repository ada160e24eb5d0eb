"""Layout records and rules built by hand, so that take-off is tested without a layout engine."""

from collections.abc import Iterable
from decimal import Decimal

from service.domain.layout.deck import Deck, Edge, EdgeKind, Footing, Level, Opening, OpeningKind
from service.domain.layout.records import (
    Layout,
    PicketRow,
    Post,
    PostPosition,
    Rail,
    RailEnd,
    Rake,
    Run,
    Section,
    StairPlan,
)
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
from service.domain.lengths import inches
from service.domain.takeoff.parts import LabourRule, PartRule, PartsList, Shop

PITCH = inches(4, 1, 2)
POST_HEIGHT = inches(38)
SECTION_LENGTH = inches(100)
STAIR_PITCH = inches(5)

SYSTEM = RailingSystem(
    name="Hand-built",
    method=Method.CONTINUOUS,
    assembly=Assembly.PREFABRICATED,
    mount=Mount.SURFACE,
    guard_height_nm=inches(36),
    stair_guard_height_nm=inches(36),
    bottom_gap_nm=inches(3),
    stair_bottom_gap_nm=inches(3),
    set_back_nm=inches(3),
    stair_set_back_nm=inches(3),
    tread_set_back_nm=inches(4),
    foot_offset_nm=inches(4),
    post_width_nm=inches(2),
    post_above_rail_nm=inches(0, 1, 2),
    posts=(PostStock("level post", inches(40)), PostStock("stair post", inches(54))),
    top_rail=RailProfile(inches(1, 1, 2), inches(2)),
    bottom_rail=RailProfile(inches(1), inches(1)),
    pickets=Pickets(inches(0, 3, 4), PITCH, STAIR_PITCH, inches(4)),
    max_span_nm=inches(72),
    max_stair_span_nm=inches(72),
    wall_clearance_nm=inches(2),
    line_post_cut_nm=inches(1),
    max_section_nm=inches(192),
    max_unsupported_nm=inches(48),
    max_rake_deg=42.0,
)


def post(
    name, position=PostPosition.END, *, surface="deck", height=POST_HEIGHT, stock="level post"
):
    if position is PostPosition.EXISTING:
        stock = ""
    return Post(
        name,
        position,
        (0, 0),
        0.0,
        0.0,
        surface,
        0,
        height,
        stock,
        "main",
        1,
        width_nm=SYSTEM.post_width_nm,
    )


def rail(name, place, start, length, *, pickets=0, first=None, pitch=PITCH, saw_deg=0.0):
    return Rail(name, place, start, length, saw_deg, pickets, first, pitch if pickets > 1 else None)


def section(
    name,
    start,
    end,
    rails,
    *,
    pickets=0,
    line_posts=(),
    legs=(),
    length=SECTION_LENGTH,
    rake=None,
):
    """``start`` and ``end`` are (post, joint kind, angle); ``line_posts`` are (name, centre)."""
    row = PicketRow(
        centres_nm=tuple(inches(4) * (i + 1) for i in range(pickets)),
        removed_nm=tuple(at for _, at in line_posts),
        width_nm=inches(0, 3, 4),
        length_nm=inches(30),
        pitch_nm=PITCH,
        end_gaps_nm=(inches(3), inches(3)),
        centred_on="picket",
    )
    return Section(
        name=name,
        run=f"run of {name}",
        start=RailEnd(*start),
        end=RailEnd(*end),
        line_posts=tuple(post_name for post_name, _ in line_posts),
        line_posts_nm=tuple(at for _, at in line_posts),
        carries=(),
        length_nm=length,
        clear_nm=length - inches(2),
        rails=tuple(rails),
        pickets=row,
        support_legs_nm=tuple(legs),
        support_leg_heights_nm=(inches(3),) * len(legs),
        rake=rake,
    )


def run(name, length, rake=None):
    return Run(name, "main", 1, "", None, "P1", "P2", length, (), None, rake)


def layout(posts=(), sections=(), runs=(), stairs=(), gates=(), system=SYSTEM):
    openings = tuple(Opening(OpeningKind.GATE, name, width) for name, width in gates)
    square = ((0, 0), (inches(120), 0), (inches(120), inches(120)), (0, inches(120)))
    edges = tuple(
        Edge(EdgeKind.OPEN, number, openings=openings if number == 1 else ())
        for number in range(1, 5)
    )
    deck = Deck((Level("main", square, edges),))
    return Layout(
        deck, system, tuple(posts), tuple(runs), tuple(sections), tuple(stairs), (), (), ()
    )


RAKE = Rake(inches(30), inches(40), 36.86989764584402)


def small_deck():
    """One level run of two bays round a line post, a raked section, one gate.

    P1 (end) - S1 with line post P2 - P3 (stair top) - S2 raked - P4 (stair bottom).
    The top rail of S1 runs past P2, the bottom rail is cut either side of it.
    """
    posts = (
        post("P1"),
        post("P2", PostPosition.LINE),
        post("P3", PostPosition.STAIR_TOP),
        post(
            "P4", PostPosition.STAIR_BOTTOM, surface="slab", height=inches(50), stock="stair post"
        ),
    )
    level = section(
        "S1",
        ("P1", JointKind.FIXED),
        ("P3", JointKind.SLEEVE, 45.0),
        [
            rail("S1 top", "top", inches(1), inches(98), pickets=21, first=inches(4)),
            rail("S1 bottom 1", "bottom", inches(1), inches(48), pickets=10, first=inches(4)),
            rail(
                "S1 bottom 2", "bottom", inches(51), inches(48), pickets=10, first=inches(3, 1, 2)
            ),
        ],
        pickets=20,
        line_posts=[("P2", inches(50))],
        legs=[inches(25), inches(75)],
    )
    raked = section(
        "S2",
        ("P3", JointKind.STAIR),
        ("P4", JointKind.STAIR),
        [
            rail(
                "S2 top",
                "top",
                inches(1),
                inches(50),
                pickets=9,
                first=inches(5),
                pitch=STAIR_PITCH,
                saw_deg=36.87,
            ),
            rail(
                "S2 bottom",
                "bottom",
                inches(1),
                inches(50),
                pickets=9,
                first=inches(5),
                pitch=STAIR_PITCH,
                saw_deg=36.87,
            ),
        ],
        pickets=9,
        length=inches(42),
        rake=RAKE,
    )
    stair = StairPlan(
        "garden", "main", 1, ((0, 0), (inches(48), 0)), (0.0, -1.0), RAKE, inches(44), Footing.SLAB
    )
    return layout(
        posts,
        (level, raked),
        (run("R1", inches(100)), run("R2", inches(42), RAKE)),
        (stair,),
        (("side gate", inches(36)),),
    )


def part(sku="A-1", per="post", quantity="1", **changes):
    fields = {
        "description": f"{sku} described",
        "category": "trim",
        "unit_of_measure": "C62",
        **changes,
    }
    return PartRule(sku=sku, per=per, quantity=Decimal(quantity), **fields)


def task(name="Set", per="post", minutes="10", **changes):
    return LabourRule(task=name, per=per, minutes=Decimal(minutes), **changes)


def parts_list(parts: Iterable[PartRule] = (), labour: Iterable[LabourRule] = ()) -> PartsList:
    return PartsList(tuple(parts), tuple(labour), Shop(inches(0, 1, 8), inches(0, 1, 4)))

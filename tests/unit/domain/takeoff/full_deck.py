"""A deck that has one of everything, written down by hand, so that each count can be followed.

P1 end -S1- P2 corner -S2- P3 gate  (gate)  P4 gate -S3- P5 existing

S1  120 in, cables: 8 past line post PL to P2; two spreaders; a leg of 3 in
S2   60 in, glass: panels of 24 and 30 by 30 in, 4 clamps each; turned 45 degrees at P2
S3   72 in, infill rails in three rows; ends at a post that stands already
H1  wall handrail: 12 in level, then 40 and 40 in of slope, returned 2 in at both ends
H2  guard handrail: one piece of 50 in, its ends left open
B1  two plies of 14-1/2 in, square; B2 one of 16 in, slanted
"""

from dataclasses import replace
from decimal import Decimal

from service.domain.layout.deck import Opening, OpeningKind, Side, Swing
from service.domain.layout.framing import BasePlate, Block
from service.domain.layout.gate_records import Gate
from service.domain.layout.infill_records import CableRow, CableRun, Panel, PanelRow
from service.domain.layout.records import PostPosition, RailRow
from service.domain.layout.stair_records import Handrail, HandrailMount
from service.domain.layout.system import JointKind, PostStock
from service.domain.lengths import inches, millimetres
from tests.unit.domain.takeoff.builders import SYSTEM, layout, post, rail, run, section

STOCK = (PostStock("level post", inches(40)), PostStock("gate post", inches(44)))
FULL_SYSTEM = replace(
    SYSTEM,
    posts=STOCK,
    base=BasePlate(inches(4), (), inches(0, 3, 8), inches(1), inches(1)),
)


def rails(name, length, joint_at=None):
    """A top rail past everything, and a bottom rail, in two pieces where it meets a line post."""
    top = rail(f"{name} top", "top", inches(1), inches(length))
    if joint_at is None:
        return [top, rail(f"{name} bottom", "bottom", inches(1), inches(length))]
    first = rail(f"{name} bottom 1", "bottom", inches(1), inches(joint_at - 2))
    second = rail(f"{name} bottom 2", "bottom", inches(joint_at + 1), inches(length - joint_at))
    return [top, first, second]


def full_deck():
    posts = (
        post("P1"),
        post("PL", PostPosition.LINE),
        replace(post("P2", PostPosition.CORNER), turn_deg=90.0),
        post("P3", PostPosition.GATE, height=inches(42), stock="gate post"),
        post("P4", PostPosition.GATE, height=inches(42), stock="gate post", surface="fascia"),
        post("P5", PostPosition.EXISTING),
    )
    cabled = replace(
        section("S1", ("P1", JointKind.FIXED), ("P2", JointKind.SLEEVE), rails("S1", 118, 60),
                line_posts=[("PL", inches(60))], legs=[inches(30)], length=inches(120)),
        infill=CableRow((), inches(0, 3, 16), (), (inches(30), inches(90)), inches(30)),
    )  # fmt: skip
    glazed = replace(
        section("S2", ("P2", JointKind.SLEEVE, 45.0), ("P3", JointKind.FIXED), rails("S2", 58),
                length=inches(60)),
        infill=PanelRow((panel("S2 panel 1", 24), panel("S2 panel 2", 30)), (),
                        millimetres(12), inches(3)),
    )  # fmt: skip
    railed = replace(
        section("S3", ("P4", JointKind.FIXED), ("P5", JointKind.BRACKET), rails("S3", 70),
                length=inches(72)),
        infill=RailRow(tuple(rail(f"S3 infill {n}", "infill", inches(1), inches(70))
                             for n in (1, 2, 3)),
                       (inches(8), inches(16), inches(24)), inches(1), ()),
    )  # fmt: skip
    bare = layout(
        posts,
        (cabled, glazed, railed),
        (replace(run("R1", inches(120)), fall_height_nm=inches(96)), run("R2", inches(132))),
        system=FULL_SYSTEM,
    )
    return replace(
        hang(bare),
        cables=(CableRun("C1", "P1", "P2", ("PL",), 0, ("S1",), 8, inches(122), raked=False),),
        blocks=(block("B1", inches(14, 1, 2), (0.0, 0.0), 2), block("B2", inches(16), (9.0, 0), 1)),
        handrails=(
            handrail("H1", HandrailMount.WALL, (12, 40, 40), brackets=4, returned=True),
            handrail("H2", HandrailMount.GUARD, (50,), brackets=2, returned=False),
        ),
    )


def hang(bare):
    """A gate of 38 in between P3 and P4, leaf 36 by 34 in, swinging out, hinged right."""
    opening = Opening(OpeningKind.GATE, "garden gate", inches(38), None, Swing.OUT, Side.RIGHT)
    (level,) = bare.deck.levels
    first, *others = level.edges
    edges = (replace(first, openings=(opening,)), *others)
    gate = Gate(
        "garden gate", "main", 1, "P3", "P4", inches(38), inches(36), inches(34),
        Swing.OUT, Side.RIGHT,
    )  # fmt: skip
    deck = replace(bare.deck, levels=(replace(level, edges=edges),))
    return replace(bare, deck=deck, gates=(gate,))


def panel(name, width):
    return Panel(name, 0, inches(width), inches(30), 0, Decimal(15), 4)


def block(name, length, ends, plies):
    return Block(name, "main", ("P1",), ("joist 1", "joist 2"), length, ends, ((0, 0),) * plies)


def handrail(name, mount, pieces, *, brackets, returned):
    """The first of several pieces is the level extension above the stair."""
    level = pieces[0] if len(pieces) > 1 else 0
    return Handrail(
        name=name,
        stair="garden",
        side=Side.LEFT,
        mount=mount,
        height_nm=inches(36),
        start_nm=0,
        end_nm=inches(64),
        slope_nm=inches(sum(pieces) - level),
        top_extension_nm=inches(level),
        returns_nm=(inches(2), inches(2)) if returned else (),
        pieces_nm=tuple(inches(piece) for piece in pieces),
        brackets_nm=tuple(range(brackets)),
        clearance_nm=inches(2),
        projection_nm=inches(4),
        saw_deg=36.87,
    )

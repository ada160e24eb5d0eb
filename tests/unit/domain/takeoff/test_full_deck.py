"""The deck that has one of everything, ordered to the last screw and checked by pencil."""

from collections import Counter
from decimal import Decimal

import pytest

from service.domain.cutting.demand import StockLength
from service.domain.lengths import inches
from service.domain.takeoff.beads import Bead, BeadShape
from service.domain.takeoff.elements import elements_of
from service.domain.takeoff.kinds import KINDS
from service.domain.takeoff.parts import Band
from service.domain.takeoff.take_off import take_off
from tests.unit.domain.takeoff.builders import part, parts_list, task
from tests.unit.domain.takeoff.full_deck import full_deck


def metres(sku, per, quantity="1", **changes):
    return part(sku, per, quantity, per_length=True, unit_of_measure="MTR", **changes)


def bar(sku, per, **changes):
    return part(sku, per, stock=(StockLength(f"{sku}-16", inches(192)),), **changes)


FILLET = Bead(BeadShape.FILLET, inches(0, 1, 4))

# Rule, and what it comes to by pencil with the sum it came from.
PENCIL = [
    # P1, PL, P2 of 38 in; P3, P4 of 42 in; P5 stands already.
    (part("POST", "post", category="post", where={"length": Band(None, inches(40))}), 3),
    (part("GPOST", "post", category="post", where={"length": Band(inches(40), None)}), 2),
    (part("CAP", "post"), 5),
    (part("COVER", "post", "2", where={"surface": ("deck",)}), 8),  # P4 stands on the fascia
    (part("RIVET", "post", "4", where={"surface": ("deck",)}), 16),
    (part("FASCIA", "post", where={"surface": ("fascia",)}), 1),
    (part("LAG", "post", "4", where={"surface": ("deck",)}), 16),
    (part("BOLT", "post", "2", where={"surface": ("fascia",)}), 2),
    (part("WASHER", "post", "4"), 20),
    (part("TURNED", "post", where={"turn_deg": Band(89_000, 91_000)}), 1),
    # 4 plates of 4 x 4 in: 16 in each, 64 in = 1.6256 m; 1/32 in2 x 64 in = 2 in3.
    (metres("GASKET", "post", along="base_perimeter", where={"surface": ("deck",)}), "1.6256"),
    (
        part("SEAL", "post", per_length=True, along="base_perimeter", bead=FILLET,
             where={"surface": ("deck",)}, unit_of_measure="MLT"),
        "32.774128",
    ),
    # Two rails at each of six section ends: S1 fixed and sleeve, S2 sleeve at 45 degrees and
    # fixed, S3 fixed and bracket; three rows of infill rails join S3 at both ends.
    (part("SLEEVE", "joint", where={"joint": ("sleeve",), "angle": ("square",)}), 2),
    (
        part("SLEEVE45", "joint", where={"joint": ("sleeve",), "angle_deg": Band(30_000, 60_000)}),
        2,
    ),
    (part("WALLBKT", "joint", where={"to": ("existing",), "place": ("top", "bottom")}), 2),
    (part("INFILLBKT", "joint", where={"place": ("infill",)}), 6),
    (part("SCREW", "joint", "2", where={"joint": ("fixed",), "place": ("top", "bottom")}), 12),
    (part("LSCREW", "line_post_joint", "2", where={"meets": ("through",)}), 2),
    (part("LCLIP", "line_post_joint", where={"meets": ("end",)}), 2),  # both bottom pieces
    # Round a top rail 2 x (1-1/2 + 2) = 7 in at S1's sleeve: 0.1778 m.
    (metres("TAPE", "joint", along="perimeter", where={
        "joint": ("sleeve",), "place": ("top",), "angle": ("square",)}), "0.1778"),
    (part("LEG", "support_leg", where={"length": Band(inches(2), inches(4))}), 1),
    # 8 cables of 122 in = 24.7904 m, a fitting at each end, a grommet at PL.
    (metres("CABLE", "cable", category="cable"), "24.7904"),
    (part("FITTING", "cable_end"), 16),
    (part("GROMMET", "cable_pass", where={"at": ("line",)}), 8),
    (part("SPREADER", "spreader"), 2),
    # (24 + 30) x 30 in = 1620 in2 = 1.0451592 m2; round them 2 x 54 + 2 x 60 = 228 in = 5.7912 m.
    (part("GLASS", "panel", category="panel", per_area=True, unit_of_measure="MTK"), "1.0451592"),
    (metres("BEAD", "panel", along="perimeter"), "5.7912"),
    (part("CLAMP", "clamp"), 8),
    (part("WIDE", "panel", where={"length": Band(inches(30), None)}), 1),
    # H1 of three pieces and H2 of one.
    (part("WBRACKET", "handrail_bracket", where={"mount": ("wall",)}), 4),
    (part("GBRACKET", "handrail_bracket", where={"mount": ("guard",)}), 2),
    (part("BSCREW", "handrail_bracket", "3"), 18),
    (part("ELBOW", "handrail_return"), 2),
    (part("ENDCAP", "handrail_end"), 2),
    (part("SPLICE", "handrail_joint", where={"angle_deg": Band(None, 1000)}), 1),
    (part("SWIVEL", "handrail_joint", where={"angle_deg": Band(1000, None)}), 1),
    (part("BLOCKSCREW", "block", "8"), 24),  # three plies
    # A leaf of 36 in takes two hinges; a third from 42 in on.
    (part("LEAF", "gate", where={"leaf_width": Band(inches(30), inches(42))}), 1),
    (part("HINGE", "gate", "2", where={"leaf_width": Band(None, inches(42))}), 2),
    (part("HINGE3", "gate", "3", where={"leaf_width": Band(inches(42), None)}), None),
    (part("LATCH", "gate", where={"swing": ("out",)}), 1),
    (part("PEN", "deck"), 1),
    (metres("FLASH", "run"), "6.4008"),  # 120 + 132 in
    (part("TRIM", "section"), 3),
]  # fmt: skip
CUT = [
    # S1 in three pieces, S2 and S3 in two each; three infill rails; four handrail pieces; 2 + 1.
    (bar("RAIL", "rail", category="rail"), 7),
    (bar("INFILL", "infill_rail", category="rail"), 3),
    (bar("HANDRAIL", "handrail", category="handrail"), 4),
    (bar("TIMBER", "block", category="timber"), 3),
]


@pytest.fixture(scope="module")
def takeoff():
    return take_off(full_deck(), parts_list([rule for rule, _ in [*PENCIL, *CUT]]))


@pytest.mark.parametrize(("rule", "needed"), PENCIL, ids=[rule.sku for rule, _ in PENCIL])
def test_needed_by_pencil(takeoff, rule, needed):
    found = {item.sku: item.needed for item in takeoff.items}.get(rule.sku)
    assert found == (None if needed is None else Decimal(needed))


@pytest.mark.parametrize(("rule", "pieces"), CUT, ids=[rule.sku for rule, _ in CUT])
def test_cut_by_pencil(takeoff, rule, pieces):
    demands = {demand.material: demand for demand in takeoff.demands}
    assert len(demands[rule.description].pieces) == pieces


def test_the_lists_leave_nothing_uncovered(takeoff):
    assert takeoff.notes == ()


def test_every_kind_but_those_of_the_small_deck_is_here():
    """Pickets and stairs are counted on the small deck, by pencil as well."""
    assert {e.kind for e in elements_of(full_deck())} == set(KINDS) - {"picket", "stair"}


ALONE = (
    "POST GPOST SLEEVE SLEEVE45 WALLBKT INFILLBKT SCREW LSCREW LCLIP LEG CABLE FITTING SPREADER "
    "CLAMP ELBOW ENDCAP SPLICE SWIVEL RAIL INFILL HANDRAIL"
).split()


def notes_without(sku):
    rules = [rule for rule, _ in [*PENCIL, *CUT] if rule.sku != sku]
    return take_off(full_deck(), parts_list(rules)).notes


@pytest.mark.parametrize("sku", ALONE)
def test_a_part_left_out_is_missed_where_no_other_holds_the_same(sku):
    (per,) = {rule.per for rule, _ in [*PENCIL, *CUT] if rule.sku == sku}
    notes = notes_without(sku)
    assert notes
    assert all(f" x {per.replace('_', ' ')}" in note for note in notes)


@pytest.mark.parametrize("sku", ["CAP", "COVER", "LAG", "GROMMET", "BSCREW", "LATCH", "PEN"])
def test_trim_and_screws_that_hold_nothing_alone_are_not_missed(sku):
    assert notes_without(sku) == ()


def test_hours_by_pencil():
    """10 min a post, 15 above 40 in; 2 min a metre of run over a fall of 8 ft; 30 a leaf."""
    labour = take_off(
        full_deck(),
        parts_list(
            labour=[
                task("Set posts", minutes="10", where={"length": Band(None, inches(40))}),
                task("Set posts", minutes="15", where={"length": Band(inches(40), None)}),
                task("Scaffold", "run", "20", where={"fall_height": Band(inches(84), None)}),
                task("Hang gates", "gate", "30"),
                task("Thread cables", "cable_pass", "1.5"),
            ]
        ),
    ).labour
    assert [(item.task, item.minutes) for item in labour] == [
        ("Set posts", 60),
        ("Scaffold", 20),
        ("Hang gates", 30),
        ("Thread cables", 12),
    ]


def test_counts_by_pencil():
    counts = Counter()
    for element in elements_of(full_deck()):
        counts[element.kind] += element.count
    assert counts == {
        "post": 5, "section": 3, "rail": 7, "joint": 18, "line_post_joint": 3, "support_leg": 1,
        "infill_rail": 3, "cable": 8, "cable_end": 16, "cable_pass": 8, "spreader": 2, "panel": 2,
        "clamp": 8, "handrail": 4, "handrail_bracket": 6, "handrail_return": 2,
        "handrail_joint": 2, "handrail_end": 2, "block": 3, "gate": 1, "run": 2, "deck": 1,
    }  # fmt: skip

"""A demo deck screened: pencil values, groups, what is missing, and settings."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from service.domain.layout.deck import Deck, Footing, OpeningKind, Side
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import PostPosition
from service.domain.layout.stair_records import Handrail, HandrailMount
from service.domain.layout.system import (
    Cables,
    Glass,
    InfillRails,
    Mount,
    PostStock,
    no_pickets,
)
from service.domain.lengths import inches
from service.domain.structure.checks import CheckOutcome, Unit
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.screening import screen, screen_guard
from service.domain.structure.specification import (
    Direction,
    FastenerKind,
    PicketLoad,
    StructureSpec,
    Wind,
)
from tests.unit.domain.layout.builders import (
    FREE,
    RECTANGLE,
    SYSTEM,
    demo,
    level,
    one_run_deck,
    stair,
    stair_deck,
    with_opening,
)
from tests.unit.domain.structure.builders import (
    BOLT,
    HANDRAIL,
    INFILL,
    LAG,
    LIBRARY,
    LINE,
    LOADS,
    PINE,
    POUND,
    RATED,
    SIDE,
    SPEC,
    SQUARE,
    TOP,
    member,
    named,
    the,
)

OK, OVER, OPEN = CheckOutcome.OK, CheckOutcome.OVER, CheckOutcome.NOT_ASSESSED
LEVEL = lay_out(one_run_deck(), SYSTEM)
STAIR = demo()
PSI = 6.894757293168361e-3


def test_post_of_the_level_by_pencil() -> None:
    """36 in x 200 lb = 7200 lb in; S 0.89557 in3 gives 8.040 ksi of 15.152 ksi."""
    check = the(screen(LEVEL, SPEC, LOADS), "post bending")
    assert check.result is not None
    assert check.limit is not None
    assert check.result.value / PSI == pytest.approx(8_040, abs=1)
    assert check.limit.value / PSI == pytest.approx(15_152, abs=1)
    assert check.utilisation == pytest.approx(8.040 / 15.152, rel=1e-3)
    assert check.outcome is OK
    assert set(check.elements) == {post.name for post in LEVEL.posts}
    assert "6063-T6" in " ".join(check.assumptions) + str(check.inputs)


def test_base_plate_by_pencil() -> None:
    """Reference 2.2: M 7200 lb in, B 5, d 4.25, but southern pine wet: f_c 378.55 psi.

    a = 4.25 - sqrt(18.0625 - 7.6080) = 1.01667 in, N = 1924.3 lb, 962.2 lb on each of two.
    """
    check = the(screen(LEVEL, SPEC, LOADS), "lag screw withdrawal")
    assert check.result is not None
    assert check.result.value / POUND == pytest.approx(962.2, abs=0.2)
    # G 0.55, 3/8 in: 351.85 lb/in x 3.28125 in x 0.7
    assert check.limit is not None
    assert check.limit.value / POUND == pytest.approx(808.2, abs=0.2)
    assert check.outcome is OVER


def test_stair_posts_are_grouped_apart_and_take_the_handrail_load() -> None:
    checks = screen(STAIR, SPEC, (TOP, HANDRAIL, INFILL))
    groups = named(checks, "post bending")
    assert len(groups) == 3
    with_handrail = [check for check in groups if "XYZ 1 load.handrail" in check.clauses]
    names = {name for check in with_handrail for name in check.elements}
    assert names == {post.name for post in STAIR.posts if post.stair}
    assert all("XYZ 1 load.guard.top" in check.clauses for check in groups)


def test_the_worst_of_a_group_is_named() -> None:
    """Of the two posts at the foot the figures belong to the highest."""
    tall = stair_deck()
    layout = lay_out(tall, replace(SYSTEM, foot_offset_nm=inches(6)))
    check = named(screen(layout, SPEC, (TOP,)), "post bending")[-1]
    height = max(
        post.height_nm - SYSTEM.post_above_rail_nm
        for post in layout.posts
        if post.name in check.elements
    )
    (arm,) = [figure.value for figure in check.inputs if figure.name == "h"]
    assert arm == height / 1e6
    assert set(check.worst) <= set(check.elements)


@pytest.mark.parametrize(
    ("missing", "check", "words"),
    [
        ({"post": None}, "post bending", "structure.post"),
        ({"top_rail": None}, "top rail bending", "structure.top_rail"),
        ({"picket": None}, "picket bending", "structure.picket"),
        ({"base": None}, "base plate on timber", "structure.base"),
        ({"fastener": None}, "base plate on timber", "structure.fastener"),
        ({"timber": None}, "base plate on timber", "structure.timber"),
        ({"timber": replace(PINE, decking_nm=None)}, "lag screw withdrawal", "decking"),
        ({"fastener": replace(LAG, thread=None)}, "lag screw withdrawal", "root and tip"),
        ({"fastener": replace(LAG, edge_nm=None)}, "edge distance", "edge_distance"),
        ({"fastener": replace(LAG, end_nm=None)}, "end distance", "end_distance"),
        ({"fastener": replace(BOLT, washer_nm=None)}, "washer on timber", "washer"),
        ({"fastener": replace(RATED, tension_n=None)}, "rated fastener", "tension"),
        (
            {"timber": replace(PINE, species=LIBRARY.species["Redwood"])},
            "base plate on timber",
            "bearing strength of Redwood",
        ),
    ],
)
def test_what_is_missing_is_said_and_left_open(
    missing: dict[str, object], check: str, words: str
) -> None:
    found = the(screen(LEVEL, replace(SPEC, **missing), LOADS), check)
    assert found.outcome is OPEN
    assert words in found.missing
    assert found.clauses


def test_nothing_given_leaves_everything_open() -> None:
    checks = screen(LEVEL, StructureSpec(), LOADS)
    assert {check.outcome for check in checks} == {OPEN}
    assert {clause for check in checks for clause in check.clauses} == {
        "XYZ 1 load.guard.top",
        "XYZ 1 load.guard.infill",
    }


def test_a_welded_foot_is_weaker_and_unknown_where_no_strength_is_held() -> None:
    welded = member(2.5, 2.5, 0.125, welded=True)
    plain = the(screen(LEVEL, SPEC, LOADS), "post bending")
    found = the(screen(LEVEL, replace(SPEC, post=welded), LOADS), "post bending")
    assert found.utilisation is not None
    assert plain.utilisation is not None
    assert found.utilisation == pytest.approx(plain.utilisation * 25 / 8)
    assert found.outcome is OVER
    other = replace(welded, alloy=LIBRARY.alloys["6005A-T61"])
    unknown = the(screen(LEVEL, replace(SPEC, post=other), LOADS), "post bending")
    assert unknown.outcome is OPEN
    assert "weld" in unknown.missing


def test_an_unknown_wall_leaves_a_good_stress_open_but_not_a_bad_one() -> None:
    axis = replace(SPEC.post.section.outward, slenderness=None)
    section = replace(SPEC.post.section, outward=axis, other=axis)
    spec = replace(SPEC, post=replace(SPEC.post, section=section))
    found = the(screen(LEVEL, spec, LOADS), "post bending")
    assert (found.outcome, found.utilisation is None) == (OPEN, False)
    weak = replace(axis, s_mm3=axis.s_mm3 / 3)
    thin = replace(section, outward=weak, other=weak)
    spec = replace(SPEC, post=replace(SPEC.post, section=thin))
    assert the(screen(LEVEL, spec, LOADS), "post bending").outcome is OVER


def test_rails_span_simply_between_posts_and_run_past_line_posts() -> None:
    continuous = named(screen(LEVEL, SPEC, (TOP,)), "top rail bending, outward")
    between = named(
        screen(lay_out(one_run_deck(), FREE), SPEC, (TOP,)), "top rail bending, outward"
    )
    assert any("13 P L / 64" in check.formula for check in continuous)
    assert all("P L / 4" in check.formula for check in between)


def test_line_load_bends_posts_by_what_leans_on_them() -> None:
    checks = screen(lay_out(one_run_deck(), FREE), SPEC, (LINE,))
    check = the(checks, "post bending")
    figures = {figure.name: figure.value for figure in check.inputs}
    assert figures["P"] == pytest.approx(LINE.value * figures["l"])
    assert figures["l"] <= inches(72) / 1e6


def test_continuous_rail_sends_ten_eighths_to_a_line_post() -> None:
    check = the(screen(LEVEL, SPEC, (LINE,)), "post bending")
    figures = {figure.name: figure.value for figure in check.inputs}
    assert set(check.worst) <= {name for one in LEVEL.sections for name in one.line_posts}
    assert figures["P"] == pytest.approx(1.25 * LINE.value * figures["l"])


def test_one_picket_takes_the_whole_load_unless_asked_to_share() -> None:
    whole = screen(LEVEL, SPEC, (INFILL,))
    assert the(whole, "picket bending, whole load on one").clauses
    assert not the(whole, "picket bending, share of the load").clauses
    shared = screen(LEVEL, replace(SPEC, picket_load=PicketLoad.SHARE), (INFILL,))
    assert not the(shared, "picket bending, whole load on one").clauses
    assert the(shared, "picket bending, share of the load").clauses


def test_load_outward_only_spares_the_weak_way_of_a_plate() -> None:
    """A plate 5 in along the guard and 8 in square to it, three holes by two."""
    holes = tuple((x, 2 * y) for x, y in SQUARE)
    base = replace(SPEC.base, depth_nm=inches(8), holes=holes)
    any_way = the(screen(LEVEL, replace(SPEC, base=base), (TOP,)), "lag screw withdrawal")
    outward = replace(SPEC, base=base, load_direction=Direction.DOWN_AND_OUT)
    one_way = the(screen(LEVEL, outward, (TOP,)), "lag screw withdrawal")
    assert one_way.utilisation < any_way.utilisation


@pytest.mark.parametrize("kind", list(FastenerKind))
def test_every_kind_of_fastener_decides_the_load_on_the_top(kind: FastenerKind) -> None:
    fastener = {FastenerKind.LAG: LAG, FastenerKind.BOLT: BOLT, FastenerKind.RATED: RATED}[kind]
    checks = screen(LEVEL, replace(SPEC, fastener=fastener), (TOP,))
    name = {"lag": "lag screw withdrawal", "bolt": "bolt tension", "rated": "rated fastener"}[kind]
    assert the(checks, name).clauses == TOP.clauses


def test_shear_is_screened_with_a_lateral_value_and_said_to_be_left_out_without() -> None:
    lag = the(screen(LEVEL, SPEC, (TOP,)), "lag screw withdrawal")
    assert any("shear" in note for note in lag.assumptions)
    spec = replace(SPEC, fastener=replace(LAG, lateral_n=160 * POUND))
    both = the(screen(LEVEL, spec, (TOP,)), "lag screw, pull and shear together")
    assert both.utilisation > lag.utilisation


@pytest.mark.parametrize(
    ("bottom", "name", "outcome"),
    [
        (Footing.SLAB, "anchors in the slab", OK),
        (Footing.GRADE, "post footing", OPEN),
        (Footing.TREAD, "base plate bearing", OK),
    ],
)
def test_what_the_bottom_post_stands_on(bottom: Footing, name: str, outcome: CheckOutcome) -> None:
    deck = replace(stair_deck(), stairs=(stair(bottom=bottom),))
    layout = lay_out(deck, SYSTEM)
    foot = next(post.name for post in layout.posts if post.surface == bottom)
    spec = replace(SPEC, slab_anchor=replace(RATED, tension_n=12_000.0))
    assert the(screen(layout, spec, (TOP,)), name, foot).outcome is outcome


class TestFascia:
    LAYOUT = lay_out(
        one_run_deck(), replace(SYSTEM, mount=Mount.FASCIA, fascia_drop_nm=inches(8),
                                posts=(replace(SYSTEM.posts[1], height_nm=inches(60)),))
    )  # fmt: skip

    def test_upper_bolt_by_pencil(self) -> None:
        """Reference: load to upper bolt 39 in, rows 5 in apart: 1760 lb."""
        spec = replace(SPEC, side_mount=SIDE)
        check = the(screen(self.LAYOUT, spec, (TOP,)), "bolt tension")
        assert check.result is not None
        assert check.result.value / POUND == pytest.approx(1_760)

    def test_post_bends_down_to_the_upper_bolt(self) -> None:
        check = the(screen(self.LAYOUT, replace(SPEC, side_mount=SIDE), (TOP,)), "post bending")
        assert {figure.name: figure.value for figure in check.inputs}["h"] == 990.6  # 39 in

    @pytest.mark.parametrize(
        ("held", "outcome"), [(True, OK), (False, OVER), (None, OPEN)], ids=str
    )
    def test_rim_must_be_held(self, held: bool | None, outcome: CheckOutcome) -> None:
        spec = replace(SPEC, side_mount=replace(SIDE, rim_held=held))
        check = the(screen(self.LAYOUT, spec, (TOP,)), "rim held against rotation")
        assert check.outcome is outcome
        assert check.clauses == TOP.clauses

    def test_without_a_side_mount_nothing_is_known(self) -> None:
        checks = screen(self.LAYOUT, SPEC, (TOP,))
        assert the(checks, "side mount").outcome is OPEN
        assert "side_mount" in the(checks, "post bending").missing


class TestWind:
    def test_wind_on_pickets_decides_no_clause(self) -> None:
        spec = replace(SPEC, wind=Wind(speed_m_s=51.4))
        screening = screen_guard(LEVEL, spec, (TOP,))
        windy = [check for check in screening.checks if "wind" in check.load]
        assert windy
        assert not any(check.clauses for check in windy)
        assert {check.name for check in windy} >= {"post bending", "lag screw withdrawal"}

    def test_moment_acts_at_half_the_height(self) -> None:
        spec = replace(SPEC, wind=Wind(speed_m_s=51.4))
        screening = screen_guard(LEVEL, spec, ())
        check = the(screening.checks, "post bending")
        figures = {figure.name: figure.value for figure in check.inputs}
        assert figures["h"] == 18 * 25.4
        (load,) = screening.loads
        face = 36 * 25.4 * figures["l"] * 1.25
        assert figures["P"] == pytest.approx(load.value * 1e-6 * face)


def test_holes_are_scheduled_for_lag_screws_only() -> None:
    holes = screen_guard(LEVEL, SPEC, ()).holes
    assert holes is not None
    assert holes.gravity_class == "G over 0.5 to 0.6"
    assert screen_guard(LEVEL, replace(SPEC, fastener=BOLT), ()).holes is None


def test_house_checks_decide_no_clause() -> None:
    checks = screen(STAIR, SPEC, LOADS)
    for name in ("post deflection", "top rail sag", "top rail movement, ASTM E985"):
        assert named(checks, name)
        assert not any(check.clauses for check in named(checks, name))


def test_every_computed_check_prints_its_working() -> None:
    for check in screen(STAIR, replace(SPEC, side_mount=SIDE), (TOP, HANDRAIL, INFILL, LINE)):
        assert check.formula, check.name
        assert check.source, check.name
        assert check.result is not None, check.name
        assert check.limit is not None, check.name
        assert set(check.worst) <= set(check.elements)


def _of(infill: object):
    """Lay the deck out with cables, glass or rails; sizes are invented."""
    system = replace(
        FREE, infill=infill, pickets=no_pickets(inches(4)), posts=(PostStock("high", inches(60)),)
    )
    return lay_out(one_run_deck(), system)


def test_cables_leave_infill_and_the_posts_they_pull_at_open() -> None:
    cables = Cables(inches(0, 3, 16), inches(3, 1, 2), inches(48), inches(600))
    layout = _of(cables)
    checks = screen(layout, SPEC, LOADS)
    assert the(checks, "cables").clauses == INFILL.clauses
    pull = the(checks, "posts under the pull of cables")
    assert (pull.outcome, pull.clauses) == (OPEN, TOP.clauses)
    assert set(pull.elements) == {name for run in layout.cables for name in (run.start, run.end)}


def test_infill_rails_bend_between_posts() -> None:
    layout = _of(InfillRails(inches(1), inches(3, 1, 2)))
    assert "infill_rail" in the(screen(layout, SPEC, LOADS), "infill rail bending").missing
    spec = replace(SPEC, infill_rail=member(1, 1, 0.125))
    check = the(screen(layout, spec, LOADS), "infill rail bending")
    figures = {figure.name: figure.value for figure in check.inputs}
    assert figures["M"] == pytest.approx(INFILL.value * (figures["L"] / 4 - INFILL.patch_mm / 8))
    assert set(check.elements) == {section.name for section in layout.sections}


def test_glass_is_left_to_its_tests_and_its_wind_needs_a_coefficient() -> None:
    glass = Glass(inches(6), inches(60), inches(1), inches(4), inches(0, 3, 8), Decimal(25),
                  Decimal(80))  # fmt: skip
    layout = _of(glass)
    spec = replace(SPEC, wind=Wind(speed_m_s=51.4))
    assert the(screen(layout, spec, LOADS), "glass").outcome is OPEN
    bare = screen_guard(layout, spec, LOADS)
    assert "coefficient" in the(bare.checks, "wind").missing
    windy = screen_guard(layout, replace(spec, wind=Wind(51.4, coefficient=1.8)), LOADS)
    assert any(load.kind is Unit.PRESSURE for load in windy.loads)


def test_gates_existing_posts_and_handrails_on_brackets_are_left_open() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.GATE, "side gate", 36, 96)
    standing = with_opening(front, 2, OpeningKind.EXISTING_POST, "old", 4, 56)
    layout = lay_out(Deck((standing,)), SYSTEM)
    checks = screen(layout, SPEC, LOADS)
    gates = named(checks, "gates")
    assert [(gate.elements, gate.clauses) for gate in gates] == [
        (("side gate",), TOP.clauses),
        (("side gate",), INFILL.clauses),
    ]
    (existing,) = named(checks, "existing posts")
    assert (existing.outcome, existing.clauses) == (OPEN, TOP.clauses)
    names = {post.name for post in layout.posts if post.position is PostPosition.EXISTING}
    assert set(existing.elements) == names != set()


def test_handrails_take_their_own_load_or_that_of_the_guard() -> None:
    rail = Handrail("H1", "stair", Side.LEFT, HandrailMount.GUARD, *[0] * 5, (), (), (), 0, 0, 0.0)
    layout = replace(STAIR, handrails=(rail,))

    def decided(*loads: Load) -> list[tuple[str, ...]]:
        return [c.clauses for c in named(screen(layout, SPEC, loads), "handrails on brackets")]

    assert decided(TOP, INFILL) == [TOP.clauses]
    assert decided(TOP, HANDRAIL) == [HANDRAIL.clauses]
    other = replace(TOP, clauses=("ABC 2 load.guard.top",))
    assert decided(TOP, HANDRAIL, other) == [HANDRAIL.clauses, other.clauses]
    assert not named(screen(STAIR, SPEC, LOADS), "handrails on brackets")


def test_picket_under_the_whole_load_by_pencil() -> None:
    """50 lb on the middle 12 in of the clear length: M = W (L / 4 - c / 8)."""
    check = the(screen(LEVEL, SPEC, (INFILL,)), "picket bending, whole load on one")
    row = LEVEL.sections[0].pickets
    clear_mm = (row.length_nm - 2 * LEVEL.system.pickets.enters_nm) / 1e6
    moment = 50 * POUND * (clear_mm / 4 - 304.8 / 8)
    figures = {figure.name: figure.value for figure in check.inputs}
    assert figures["M"] == pytest.approx(moment, rel=1e-9)
    assert figures["c"] == 304.8
    share = the(screen(LEVEL, SPEC, (INFILL,)), "picket bending, share of the load")
    shared = {figure.name: figure.value for figure in share.inputs}
    assert shared["M"] == pytest.approx(moment * shared["pitch"] / 304.8, rel=1e-9)


def test_downward_load_is_for_rails_alone() -> None:
    down = Load(LoadPlace.DOWNWARD, Unit.LINE_LOAD, 1.5, "1.5 kN/m", ("XYZ 1 load.guard.vertical",))
    checks = screen(LEVEL, SPEC, (down,))
    deciding = {check.name for check in checks if check.clauses}
    assert deciding == {"top rail bending, downward"}
    check = the(checks, "top rail bending, downward")
    figures = {figure.name: figure.value for figure in check.inputs}
    assert figures["M"] == pytest.approx(1.5 * figures["L"] ** 2 / 8)


def test_line_load_on_a_stair_lies_on_its_plan() -> None:
    (spans,) = (c for c in screen(STAIR, SPEC, (LINE,)) if c.name == "top rail bending, outward"
                and any("slope" in note for note in c.assumptions))  # fmt: skip
    figures = {figure.name: figure.value for figure in spans.inputs}
    rake = next(one.rake for one in STAIR.sections if one.rake)
    flat = rake.run_nm / math.hypot(rake.run_nm, rake.rise_nm)
    assert figures["w"] == pytest.approx(LINE.value * flat, rel=1e-6)


@pytest.mark.parametrize(
    ("diameter", "known"),
    [(inches(0, 1, 4) - 1, False), (inches(0, 1, 4), True), (inches(1, 1, 4), True),
     (inches(1, 1, 4) + 1, False)],
)  # fmt: skip
def test_withdrawal_is_not_reckoned_beyond_the_range_of_its_table(
    diameter: int, known: bool
) -> None:
    lag = replace(LAG, diameter_nm=diameter)
    check = the(screen(LEVEL, replace(SPEC, fastener=lag), (TOP,)), "lag screw withdrawal")
    assert (check.result is not None) is known
    assert ("1/4 to 1-1/4 in" in check.missing) is not known

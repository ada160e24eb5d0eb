"""What must hold of every screening: more load, more span or less metal never helps."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from service.domain.layout.lay_out import lay_out
from service.domain.lengths import INCH, inches
from service.domain.structure.base_plates import compression_block, edge_tension_n, grips
from service.domain.structure.checks import Check, CheckOutcome
from service.domain.structure.fasteners import (
    lag_withdrawal_n_per_mm,
    lead_hole_mm,
    penetration_mm,
    thread_length_mm,
)
from service.domain.structure.loads import Load
from service.domain.structure.members import (
    simple_line,
    simple_patch,
    simple_point,
    two_span_line,
    two_span_point,
    wall_allowable_mpa,
)
from service.domain.structure.screening import screen
from service.domain.structure.sections import rectangular_tube, round_tube, tube_section
from service.domain.structure.specification import Direction, StructureSpec
from tests.unit.domain.layout.builders import BETWEEN, SYSTEM, one_run_deck
from tests.unit.domain.structure.builders import INFILL, LINE, LOADS, SPEC, TOP, member

sizes = st.floats(20, 150)
walls = st.floats(1, 5)
forces = st.floats(10, 5_000)
spans = st.floats(100, 4_000)
E, I = 69_637.0, 126_689.0  # noqa: E741 - as the formulas name them
LEVEL = lay_out(one_run_deck(), SYSTEM)


def by_name(checks: tuple[Check, ...]) -> dict[tuple[str, str, tuple[str, ...]], Check]:
    return {(one.name, one.load, one.elements): one for one in checks}


def no_better(worse: tuple[Check, ...], before: tuple[Check, ...]) -> None:
    """Every check of the worse case is used at least as much as the same one before.

    Where a plate finds no balance on its timber any more, its fasteners drop out of their group.
    """
    earlier, later = by_name(before), by_name(worse)
    crushed = any(c.name == "base plate bearing" and c.utilisation > 1 for c in worse)
    assert crushed or earlier.keys() == later.keys()
    for key in earlier.keys() & later.keys():
        check, old = later[key], earlier[key]
        if check.utilisation is not None and old.utilisation is not None:
            assert check.utilisation >= old.utilisation * (1 - 1e-12), key


@given(sizes, sizes, walls)
def test_a_tube_is_a_bar_less_its_hollow(width: float, depth: float, wall: float) -> None:
    """Shapely's area of the ring, and bounds that hold of every section."""
    tube = rectangular_tube(width, depth, wall)
    outer = Polygon([(0, 0), (width, 0), (width, depth), (0, depth)])
    ring = outer.difference(outer.buffer(-wall, join_style="mitre"))
    assert abs(tube.area_mm2 - ring.area) < 1e-6 * ring.area
    assert tube.s_mm3 < tube.z_mm3 <= 1.5 * tube.s_mm3 + 1e-9
    assert tube.i_mm4 <= tube.area_mm2 * depth**2 / 4


@given(sizes, walls)
def test_a_round_tube_lies_within_the_square_one(diameter: float, wall: float) -> None:
    inside, around = round_tube(diameter, wall), rectangular_tube(diameter, diameter, wall)
    assert inside.area_mm2 < around.area_mm2
    assert inside.i_mm4 < around.i_mm4
    assert inside.s_mm3 < inside.z_mm3


@given(forces, spans, spans)
def test_a_longer_span_never_helps(force: float, one: float, other: float) -> None:
    short, long = sorted((one, other))
    for worked in (simple_point, two_span_point):
        assert worked(force, short, E, I).moment_n_mm <= worked(force, long, E, I).moment_n_mm
        assert worked(force, short, E, I).deflection_mm <= worked(force, long, E, I).deflection_mm
    line = force / 1_000
    for worked in (simple_line, two_span_line):
        assert worked(line, short, E, I).moment_n_mm <= worked(line, long, E, I).moment_n_mm


@given(forces, spans, st.floats(0, 600))
def test_a_patch_never_does_more_than_a_point(force: float, span: float, patch: float) -> None:
    spread, point = simple_patch(force, patch, span, E, I), simple_point(force, span, E, I)
    assert spread.moment_n_mm <= point.moment_n_mm * (1 + 1e-12)
    assert spread.deflection_mm <= point.deflection_mm * (1 + 1e-12)


@given(st.floats(1, 200), st.floats(1, 200))
def test_a_slimmer_wall_never_carries_more(one: float, other: float) -> None:
    stout, slim = sorted((one, other))
    # The straight line and the hyperbola meet at S2 within a part in a thousand.
    assert wall_allowable_mpa(slim, 172.4, E) <= wall_allowable_mpa(stout, 172.4, E) * 1.001


@given(st.floats(1e4, 2e6), st.floats(60, 250), st.floats(40, 240), st.floats(1, 5))
def test_block_balances_the_moment_and_pulls_harder_than_the_edge(
    moment: float, across: float, arm: float, f_c: float
) -> None:
    block = compression_block(moment, across, arm, f_c)
    if block.bearing > 1:
        assert block.tension_n is None
        return
    assert block.tension_n is not None
    assert block.depth_mm is not None
    balanced = block.tension_n * (arm - block.depth_mm / 2)
    assert abs(balanced - moment) <= 1e-6 * moment
    assert block.tension_n >= edge_tension_n(moment, arm) * (1 - 1e-9)


@given(st.floats(60, 250), st.floats(60, 250), st.floats(0.1, 0.45), st.floats(0.1, 0.45))
def test_a_turned_plate_turns_its_grips(width: float, depth: float, x: float, y: float) -> None:
    holes = [(sx * x * width, sy * y * depth) for sx in (-1, 1) for sy in (-1, 1)]
    one = grips(width, depth, holes)
    turned = grips(depth, width, [(y, x) for x, y in holes])
    assert {(g.count, g.arm_mm) for g in one} == {(g.count, g.arm_mm) for g in turned}


@given(st.floats(0.31, 0.73), st.floats(6.35, 31.75), st.floats(50, 300), st.floats(0, 80))
def test_lag_screws(gravity: float, diameter: float, length: float, side: float) -> None:
    """Denser timber and thicker screws hold more; more beside the timber never holds more."""
    assert lag_withdrawal_n_per_mm(gravity, diameter) <= lag_withdrawal_n_per_mm(
        gravity + 0.01, diameter
    )
    threaded = thread_length_mm(length)
    held = penetration_mm(length, threaded, side, 5.0)
    assert 0 <= held <= threaded
    assert penetration_mm(length, threaded, side + 1, 5.0) <= held
    holes = lead_hole_mm(gravity, diameter)
    assert 0 < holes.lead_least_mm < holes.lead_most_mm < holes.clearance_mm


@given(st.floats(1, 3))
def test_more_load_never_helps(factor: float) -> None:
    heavier = tuple(replace(load, value=load.value * factor) for load in (*LOADS, LINE))
    no_better(screen(LEVEL, SPEC, heavier), screen(LEVEL, SPEC, (*LOADS, LINE)))


@given(st.floats(0.05, 0.25), st.floats(0.05, 0.25))
def test_thinner_posts_never_help(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    weak, strong = (replace(SPEC, post=member(2.5, 2.5, wall)) for wall in (thin, thick))
    no_better(screen(LEVEL, weak, (TOP,)), screen(LEVEL, strong, (TOP,)))


@given(st.integers(24, 72), st.integers(24, 72))
def test_longer_spans_never_help(one: int, other: int) -> None:
    """Strength only: the house limits on movement grow with the span."""
    short, long = (
        screen(lay_out(one_run_deck(), replace(BETWEEN, max_span_nm=inches(span))), SPEC, (TOP,))
        for span in sorted((one, other))
    )
    worst = [
        max(c.utilisation for c in checks if c.name == "top rail bending, outward")
        for checks in (short, long)
    ]
    assert worst[0] <= worst[1] * (1 + 1e-12)


@given(st.integers(30, 48), st.integers(30, 48))
def test_higher_guards_never_help_posts(one: int, other: int) -> None:
    low, high = (screen(_level_of(height), SPEC, (TOP,)) for height in sorted((one, other)))
    for name in ("post bending", "base plate bearing"):
        first, second = (
            next(c.utilisation for c in checks if c.name == name) for checks in (low, high)
        )
        assert first <= second


def _level_of(height_in: int):
    tall = tuple(replace(post, height_nm=inches(60)) for post in SYSTEM.posts)
    return lay_out(one_run_deck(), replace(SYSTEM, guard_height_nm=inches(height_in), posts=tall))


@st.composite
def specs(draw: st.DrawFn) -> StructureSpec:
    """Specifications with parts left out, sound or hopeless."""
    kept = {
        name: getattr(SPEC, name)
        for name in ("post", "top_rail", "picket", "base", "fastener", "slab_anchor", "timber")
        if draw(st.booleans())
    }
    if "post" in kept and draw(st.booleans()):
        width, wall = draw(st.floats(25, 80)), draw(st.floats(0.5, 4))
        section = tube_section("drawn", width, width, wall)
        kept["post"] = replace(kept["post"], section=section)
    direction = draw(st.sampled_from(Direction))
    return StructureSpec(**kept, load_direction=direction)


@given(specs(), st.lists(st.sampled_from([TOP, LINE, INFILL]), unique=True, max_size=3))
def test_every_load_is_decided_by_a_check_and_every_outcome_follows(
    spec: StructureSpec, loads: list[Load]
) -> None:
    checks = screen(LEVEL, spec, loads)
    decided = {clause for check in checks for clause in check.clauses}
    assert decided == {clause for load in loads for clause in load.clauses}
    for check in checks:
        if check.outcome is CheckOutcome.NOT_ASSESSED:
            assert check.missing
        elif check.utilisation is not None:
            assert (check.outcome is CheckOutcome.OVER) == (check.utilisation > 1)
    assert {name for check in checks for name in check.elements} <= {
        *(post.name for post in LEVEL.posts),
        *(section.name for section in LEVEL.sections),
    }


@given(st.integers(0, INCH))
def test_decking_never_helps_a_lag_screw(more: int) -> None:
    timber = replace(SPEC.timber, decking_nm=SPEC.timber.decking_nm + more)
    no_better(screen(LEVEL, replace(SPEC, timber=timber), (TOP,)), screen(LEVEL, SPEC, (TOP,)))

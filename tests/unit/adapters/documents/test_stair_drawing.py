"""Landings, handrails and legs on the drawing, measured against the layout."""

import math
from dataclasses import replace
from itertools import pairwise, product

import pytest

from service.adapters.documents.drawing_svg import render
from service.adapters.documents.extents import bounds
from service.adapters.documents.handrail_drawing import walled_handrails
from service.adapters.documents.plan_drawing import draw_plan
from service.adapters.documents.plan_groups import level_keys, plans_of
from service.adapters.documents.primitives import Circle, Layer, Line, Text
from service.adapters.documents.scales import Scale
from service.domain.layout.records import PostPosition
from service.domain.layout.system import Mount
from service.domain.lengths import inches
from tests.unit.adapters.documents.decks import LAYOUTS
from tests.unit.adapters.documents.measuring import SVG, Sheet, centre
from tests.unit.adapters.documents.stair_decks import HANDRAIL, STAIR_LAYOUTS, arriving

ROUNDING = 0.002  # paper figures are written to a thousandth of a millimetre
MADE = {name: make() for name, make in (LAYOUTS | STAIR_LAYOUTS).items()}
SHEETS = {name: Sheet(render(layout, "metric")) for name, layout in MADE.items()}
STAIR_SECTIONS = [
    pytest.param(name, section, id=f"{name} {section.name}")
    for name, layout in MADE.items()
    if layout.system.mount is Mount.SURFACE
    for section in layout.sections
    if section.rake
]
HANDRAILS = [
    pytest.param(name, rail, id=f"{name} {rail.name}")
    for name, layout in MADE.items()
    if name != "two posts"  # its handrail runs through two sections, see below
    for rail in layout.handrails
]


def surface(steps, x):
    """Height on paper of the highest tread under a place, as a plumb line finds it."""
    found = [
        min(y1, y2)
        for (x1, y1), (x2, y2) in pairwise(steps)
        if min(x1, x2) <= x <= max(x1, x2) and abs(y1 - y2) < ROUNDING
    ]
    return min(found)


def box(shape):
    xs, ys = [x for x, _ in shape], [y for _, y in shape]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize(("name", "section"), STAIR_SECTIONS)
def test_every_stair_post_stands_on_its_tread_or_surface(name, section):
    """The bottom post of a flight that arrives at a landing or lower level stands down there."""
    sheet, group = SHEETS[name], f"elevation-{section.name}"
    (steps,) = sheet.shapes(group, "stair")
    posts = sheet.shapes(group, "post") + sheet.shapes(group, "standing-post")
    assert len(posts) == 2
    ratio = sheet.ratio("elevation-heading")
    heights = {post.name: post.height_nm for post in MADE[name].posts}
    for shape, end in zip(sorted(posts), (section.start, section.end), strict=True):
        _, top, _, foot = box(shape)
        assert foot == pytest.approx(surface(steps, centre(shape)[0]), abs=2 * ROUNDING)
        assert (foot - top) * ratio == pytest.approx(
            heights[end.post] / 1e6, abs=2 * ROUNDING * ratio
        )


@pytest.mark.parametrize(("name", "section"), STAIR_SECTIONS)
def test_stair_legs_stand_on_treads_and_reach_the_bottom_rail(name, section):
    sheet, group = SHEETS[name], f"elevation-{section.name}"
    (steps,) = sheet.shapes(group, "stair")
    legs = sheet.shapes(group, "support-leg")
    assert len(legs) == len(section.support_legs_nm)
    ratio = sheet.ratio("elevation-heading")
    rail = sheet.shapes(group, "rail")[1]
    (x1, y1), (x2, y2) = rail[3], rail[2]  # its underside
    for leg, at, height in zip(
        legs, section.support_legs_nm, section.support_leg_heights_nm, strict=True
    ):
        _, top, _, foot = box(leg)
        x = centre(leg)[0]
        assert x * ratio == pytest.approx(at / 1e6, abs=ROUNDING * ratio)
        assert (foot - top) * ratio == pytest.approx(height / 1e6, abs=2 * ROUNDING * ratio)
        assert foot == pytest.approx(surface(steps, x), abs=3 * ROUNDING)
        assert top == pytest.approx(y1 + (y2 - y1) * (x - x1) / (x2 - x1), abs=3 * ROUNDING)


def test_some_stair_sections_have_legs():
    assert sum(len(case.values[1].support_legs_nm) for case in STAIR_SECTIONS) > 5


LANDINGS = ["turned", "switchback", "straight", "three flights"]


@pytest.mark.parametrize("name", LANDINGS)
def test_a_landing_lies_in_the_plan_of_the_level_its_stair_leaves(name):
    layout, sheet = MADE[name], SHEETS[name]
    ratio = sheet.ratio("plan-heading")
    keys = level_keys(layout)
    assert [len(plan) for plan in plans_of(layout)] == [len(layout.deck.levels)]
    for level in layout.deck.levels:
        (outline,) = sheet.shapes(f"level-{keys[level.name]}", "deck")
        assert sheet.shift(f"level-{keys[level.name]}") == sheet.shift("level-1")
        for drawn, (x, y) in zip(outline, level.outline, strict=True):
            assert drawn == pytest.approx((x / 1e6 / ratio, -y / 1e6 / ratio), abs=ROUNDING)


@pytest.mark.parametrize("name", LANDINGS)
def test_flights_run_from_level_to_landing_and_on(name):
    layout, sheet = MADE[name], SHEETS[name]
    ratio = sheet.ratio("plan-heading")
    keys = level_keys(layout)
    landings = [level for level in layout.deck.levels if level.landing_of is not None]
    for number, landing in enumerate(landings, 1):
        (outline,) = sheet.shapes(f"level-{keys[landing.name]}", "deck")
        edges = [*pairwise(outline), (outline[-1], outline[0])]
        foot = centre(sheet.shapes(f"stair-1-{number}", "stair")[-3])  # the lowest nosing
        start = centre(sheet.shapes(f"stair-1-{number + 1}", "stair")[0])  # the next top one
        assert min(distance(foot, *edge) for edge in edges) * ratio == pytest.approx(
            layout.deck.stairs[0].nosing_nm / 1e6, abs=2 * ROUNDING * ratio
        )
        assert min(distance(start, *edge) for edge in edges) < ROUNDING


def distance(point, start, end):
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    x, y = point[0] - start[0], point[1] - start[1]
    reach = min(max(x * along[0] + y * along[1], 0.0), length)
    return math.dist((x, y), (along[0] * reach, along[1] * reach))


@pytest.mark.parametrize("name", LANDINGS)
def test_a_landing_is_named_inside_its_outline(name):
    sheet, keys = SHEETS[name], level_keys(MADE[name])
    for level in MADE[name].deck.levels:
        if level.landing_of is None:
            continue
        group = f"level-{keys[level.name]}"
        assert " ".join(sheet.texts(group)) == level.name
        left, top, right, foot = box(sheet.shapes(group, "deck")[0])
        for text in sheet.groups[group].iter(f"{SVG}text"):
            assert left < float(text.get("x")) < right
            assert top < float(text.get("y")) < foot


def test_levels_joined_by_a_stair_share_a_plan_unless_they_lie_over_each_other():
    layout = MADE["arrival"]
    assert [[level.name for level in plan] for plan in plans_of(layout)] == [["upper", "lower"]]
    under, _ = arriving()
    upper, lower = under.levels
    moved = tuple((x, y + inches(40)) for x, y in lower.outline)
    deck = replace(under, levels=(upper, replace(lower, outline=moved)))
    apart = plans_of(replace(layout, deck=deck))
    assert [[level.name for level in plan] for plan in apart] == [["upper"], ["lower"]]
    inside = tuple((inches(60 + 10 * x), inches(40 + 10 * y)) for x, y in ((0, 0), (1, 0), (1, 1)))
    deck = replace(under, levels=(upper, replace(lower, outline=inside)))
    assert len(plans_of(replace(layout, deck=deck))) == 2


def test_levels_apart_name_the_stair_that_arrives():
    layout = MADE["arrival"]
    upper, lower = layout.deck.levels
    over = tuple((x, y + inches(40)) for x, y in lower.outline)
    deck = replace(layout.deck, levels=(upper, replace(lower, outline=over)))
    sheet = Sheet(render(replace(layout, deck=deck), "metric"))
    assert sheet.texts("opening-2-3-1") == ["step stair from above"]
    assert not any(name.startswith("opening-") for name in SHEETS["arrival"].groups)


def circles(sheet, group):
    return [
        (float(one.get("cx")), float(one.get("cy")), float(one.get("r")))
        for one in sheet.groups[group].iter(f"{SVG}circle")
        if one.get("class") == "handrail"
    ]


def pictures(name, rail):
    """Groups of the elevations that show a handrail."""
    layout = MADE[name]
    if rail in walled_handrails(layout):
        return [f"elevation-{rail.name}"]
    runs = {run.name for run in layout.runs if (run.stair, run.side) == (rail.stair, rail.side)}
    return [f"elevation-{section.name}" for section in layout.sections if section.run in runs]


@pytest.mark.parametrize(("name", "rail"), HANDRAILS)
def test_handrail_has_its_length_height_and_brackets_in_elevation(name, rail):
    """One section a side on these decks, so that one picture shows the whole of it."""
    sheet = SHEETS[name]
    (group,) = pictures(name, rail)
    ratio, near = sheet.ratio("elevation-heading"), 3 * ROUNDING
    shapes = sheet.shapes(group, "handrail")
    strip = next(s for s in shapes if len(s) == 4 and abs(s[0][1] - s[1][1]) > 1)
    assert math.dist(strip[0], strip[1]) * ratio == pytest.approx(
        rail.slope_nm / 1e6, abs=near * ratio
    )
    level = next(s for s in shapes if len(s) == 4 and abs(s[0][1] - s[1][1]) < ROUNDING)
    assert (level[1][0] - level[0][0]) * ratio == pytest.approx(
        rail.top_extension_nm / 1e6, abs=near * ratio
    )
    ((start, end),) = (shape for shape in sheet.shapes(group, "nosing"))
    fall = (end[1] - start[1]) / (end[0] - start[0])
    for x, y in strip[2:]:
        nosing = start[1] + fall * (x - start[0])
        assert (nosing - y) * ratio == pytest.approx(rail.height_nm / 1e6, abs=near * ratio)
    found = circles(sheet, group)
    assert len(found) == len(rail.brackets_nm) + len(rail.returns_nm)
    slope = math.hypot(1, fall)
    places = [(stroke[0][0] - strip[0][0]) * slope * ratio for stroke in shapes if len(stroke) == 2]
    assert places == pytest.approx([at / 1e6 for at in rail.brackets_nm], abs=near * ratio)


@pytest.mark.parametrize(("name", "rail"), HANDRAILS)
def test_handrail_runs_beside_its_wall_or_guard_in_plan(name, rail):
    layout, sheet = MADE[name], SHEETS[name]
    ratio = sheet.ratio("plan-heading")
    (line,) = sheet.shapes(f"handrail-{rail.name}", "handrail")
    assert len(line) == 4
    whole = (rail.end_nm - rail.start_nm + rail.top_extension_nm) / 1e6
    assert math.dist(line[1], line[2]) * ratio == pytest.approx(whole, abs=3 * ROUNDING * ratio)
    plan = next(stair for stair in layout.stairs if stair.name == rail.stair)
    corner = plan.top[0 if rail.side == "left" else 1]
    run = next((r for r in layout.runs if (r.stair, r.side) == (rail.stair, rail.side)), None)
    held, half = (corner, 0) if run is None else (
        next(post.at for post in layout.posts if post.name == run.start), inches(1))  # fmt: skip
    on_paper = (held[0] / 1e6 / ratio, -held[1] / 1e6 / ratio)
    (x1, y1), (x2, y2) = line[1], line[2]
    away = abs((x2 - x1) * (on_paper[1] - y1) - (y2 - y1) * (on_paper[0] - x1))
    away *= ratio / math.dist(line[1], line[2])
    expected = HANDRAIL.clearance_nm + HANDRAIL.width_nm / 2 + half
    assert away == pytest.approx(expected / 1e6, abs=4 * ROUNDING * ratio)


def test_a_handrail_past_two_sections_is_shared_between_their_pictures():
    layout, sheet = MADE["two posts"], SHEETS["two posts"]
    (rail,) = layout.handrails
    groups = pictures("two posts", rail)
    assert len(groups) == 2
    ratio = sheet.ratio("elevation-heading")
    strips = [
        next(s for s in sheet.shapes(group, "handrail") if len(s) == 4 and s[0][1] != s[1][1])
        for group in groups
    ]
    shown = sum(math.dist(strip[0], strip[1]) for strip in strips) * ratio
    assert shown == pytest.approx(rail.slope_nm / 1e6, abs=6 * ROUNDING * ratio)
    marks = sum(len(circles(sheet, group)) for group in groups)
    assert marks == len(rail.brackets_nm) + len(rail.returns_nm)


def test_both_posts_of_a_corner_are_named_outside_it():
    """Names inside the corner would stand beside the wrong post."""
    sheet, layout = SHEETS["two posts"], MADE["two posts"]
    corners = [post for post in layout.posts if post.position is PostPosition.CORNER]
    assert len(corners) == 6
    for post in corners:
        (square,) = sheet.shapes(post.name, "post")
        (text,) = sheet.groups[post.name].iter(f"{SVG}text")
        at = (float(text.get("x")), float(text.get("y")) - 0.84)
        others = [
            centre(sheet.shapes(other.name, "post")[0]) for other in corners if other is not post
        ]
        assert math.dist(at, centre(square)) < min(math.dist(at, other) for other in others)


def test_handrails_on_walls_have_pictures_of_their_own():
    layout, sheet = MADE["walled"], SHEETS["walled"]
    assert [rail.name for rail in walled_handrails(layout)] == ["H1", "H2"]
    said = " ".join(sheet.texts("elevation-H1")).replace("\u00a0", " ")
    assert "on the wall: 863.6 mm over" in said
    assert not any(section.rake for section in layout.sections)
    assert "elevation-H1" not in SHEETS["turned"].groups
    walled = {rail.name for rail in walled_handrails(MADE["straight"])}
    assert walled == {rail.name for rail in MADE["straight"].handrails} == {"H1", "H2"}


def test_an_open_edge_without_guard_is_dotted_and_in_the_legend():
    sheet, layout = SHEETS["odd edges"], MADE["odd edges"]
    ratio = sheet.ratio("plan-heading")
    (dots,) = sheet.shapes("edge-1-4", "unguarded")
    outline = layout.deck.levels[0].outline
    assert math.dist(*dots) * ratio == pytest.approx(
        math.dist(outline[-1], outline[0]) / 1e6, abs=2 * ROUNDING * ratio
    )
    assert all(x < 0 for x, _ in dots), "outside, the edge being the deck's left one"
    assert "open edge, no guard" in sheet.texts("legend")
    assert "open edge, no guard" not in SHEETS["plain"].texts("legend")
    dotted = {name for name in sheet.groups if sheet.shapes(name, "unguarded")}
    assert dotted == {"edge-1-4", "legend"}


def test_a_landings_openings_are_not_drawn_as_bare_edges():
    """Edges that flights take whole have no stretch left to dot."""
    sheet = SHEETS["straight"]
    assert [name for name in sheet.groups if sheet.shapes(name, "unguarded")] == []


def test_obstacles_and_existing_posts_are_named_where_they_stand():
    sheet, layout = SHEETS["odd edges"], MADE["odd edges"]
    ratio = sheet.ratio("plan-heading")
    (shape,) = sheet.shapes("opening-1-1-1", "existing")
    left, _, right, _ = box(shape)
    assert [left * ratio, right * ratio] == pytest.approx([1524, 2133.6], abs=ROUNDING * ratio)
    assert sheet.texts("opening-1-1-1") == ["chimney"]
    post = next(post for post in layout.posts if post.position is PostPosition.EXISTING)
    assert sheet.texts(post.name) == [f"{post.name} porch post"]


def test_the_hinge_of_a_gate_is_marked():
    sheet, layout = SHEETS["odd edges"], MADE["odd edges"]
    ratio = sheet.ratio("plan-heading")
    (gate,) = layout.gates
    (mark,) = sheet.groups["gate-1-1-2"].iter(f"{SVG}circle")
    hinge = next(post for post in layout.posts if post.name == gate.hinge_post)
    away = math.dist(
        (float(mark.get("cx")) * ratio, -float(mark.get("cy")) * ratio),
        (hinge.at[0] / 1e6, hinge.at[1] / 1e6),
    )
    assert away == pytest.approx(hinge.width_nm / 2e6, abs=2 * ROUNDING * ratio)
    assert f"on {gate.hinge_post} at its {gate.hinge}" in sheet.title("gate-1-1-2")


def test_a_stairs_name_that_stands_far_off_its_side_is_led_to():
    led = 0
    for layout in MADE.values():
        for levels, ratio in product(plans_of(layout), (24, 48, 96, 150, 200)):
            for group in draw_plan(layout, levels, Scale(ratio, ""), str):
                led += _led_to(group) if group.id.startswith("stair-") else 0
    assert led > 0


def _led_to(group):
    """Hold that a name far beside a flight has a leader; tell whether it has one."""
    flight = bounds([s for s in group.shapes if isinstance(s, Line) and s.layer is Layer.STAIR])
    names = [shape for shape in group.shapes if isinstance(shape, Text)]
    dots = [shape.centre for shape in group.shapes if isinstance(shape, Circle)]
    if len(names) == 2:
        told = bounds(names)
        across = max(told.left - flight.right, flight.left - told.right)
        down = max(told.top - flight.bottom, flight.top - told.bottom)
        assert bool(dots) == (max(across, down) > 12.0)
    for x, y in dots:
        assert flight.left <= x <= flight.right
        assert flight.top <= y <= flight.bottom
    return bool(dots)

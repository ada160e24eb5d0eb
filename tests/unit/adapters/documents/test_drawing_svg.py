"""The drawing, parsed back and measured against the layout it was made from."""

import math
import os
import subprocess
import sys
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from service.adapters.documents import drawing_sheet
from service.adapters.documents.drawing_svg import escaped, render
from service.adapters.documents.extents import corners
from service.adapters.documents.plan_groups import plans_of
from service.adapters.documents.primitives import Dimension, Text, exploded
from service.domain.layout.records import PostPosition
from service.quantities import length_text
from service.usecases.orders import Units
from tests.unit.adapters.documents.decks import LAYOUTS, hostile
from tests.unit.adapters.documents.measuring import SVG, Sheet, centre, overlap
from tests.unit.adapters.documents.stair_decks import STAIR_LAYOUTS

ROUNDING = 0.002  # paper figures are written to a thousandth of a millimetre
DRAWN = ["plain", "el", "octagon", "stairs", "long", "levels", *STAIR_LAYOUTS]
MADE = {name: make() for name, make in LAYOUTS.items()}
SHEETS = {name: Sheet(render(MADE[name], "imperial")) for name in LAYOUTS}


def sections_of(name):
    return [pytest.param(name, section, id=f"{name} {section.name}") for section in
            MADE[name].sections]  # fmt: skip


EVERY_SECTION = [case for name in DRAWN for case in sections_of(name)]


@pytest.mark.parametrize("name", DRAWN)
def test_posts_stand_as_far_apart_as_in_the_layout(name):
    layout, sheet = MADE[name], SHEETS[name]
    ratio = sheet.ratio("plan-heading")
    for levels in plans_of(layout):
        names = {level.name for level in levels}
        posts = [post for post in layout.posts if post.level in names]
        places = {}
        for post in posts:
            existing = post.position is PostPosition.EXISTING
            (square,) = sheet.shapes(post.name, "standing-post" if existing else "post")
            places[post.name] = centre(square)
        for one, other in combinations(posts, 2):
            drawn_mm = math.dist(places[one.name], places[other.name]) * ratio
            assert drawn_mm == pytest.approx(
                math.dist(one.at, other.at) / 1e6, abs=2 * ROUNDING * ratio
            )


@pytest.mark.parametrize(("name", "section"), EVERY_SECTION)
def test_every_picket_is_drawn_where_it_belongs(name, section):
    sheet = SHEETS[name]
    group, ratio = f"elevation-{section.name}", sheet.ratio("elevation-heading")
    pickets = sheet.shapes(group, "picket")
    assert len(pickets) == len(section.pickets.centres_nm)
    for shape, at_nm in zip(pickets, section.pickets.centres_nm, strict=True):
        assert centre(shape)[0] * ratio == pytest.approx(at_nm / 1e6, abs=ROUNDING * ratio)
        width_mm = (max(x for x, _ in shape) - min(x for x, _ in shape)) * ratio
        assert width_mm == pytest.approx(section.pickets.width_nm / 1e6, abs=ROUNDING * ratio)


@pytest.mark.parametrize(("name", "section"), EVERY_SECTION)
def test_section_is_as_wide_as_in_the_layout(name, section):
    sheet = SHEETS[name]
    group, ratio = f"elevation-{section.name}", sheet.ratio("elevation-heading")
    posts = [
        shape
        for layer in ("post", "standing-post", "existing")
        for shape in sheet.shapes(group, layer)
    ]
    drawn = sorted(centre(shape)[0] * ratio for shape in posts)
    expected = [0, *(at / 1e6 for at in section.line_posts_nm), section.length_nm / 1e6]
    assert drawn == pytest.approx(expected, abs=ROUNDING * ratio)


@pytest.mark.parametrize(("name", "section"), EVERY_SECTION)
def test_rails_are_as_long_and_as_steep_as_in_the_layout(name, section):
    sheet = SHEETS[name]
    ratio = sheet.ratio("elevation-heading")
    shapes = sheet.shapes(f"elevation-{section.name}", "rail")
    assert len(shapes) == len(section.rails)
    for shape, rail in zip(shapes, section.rails, strict=True):
        angle = math.radians(section.rake.angle_deg if section.rake else 0.0)
        along = [x * math.cos(angle) + y * math.sin(angle) for x, y in shape]
        assert (max(along) - min(along)) * ratio == pytest.approx(
            rail.length_nm / 1e6, abs=3 * ROUNDING * ratio
        )
        if section.rake:
            ends = sorted(set(shape), key=lambda point: point[0])
            assert abs(ends[0][0] - ends[1][0]) < ROUNDING, "rail ends are sawn plumb"


@pytest.mark.parametrize("name", [name for name in DRAWN if MADE[name].stairs])
def test_stair_rails_stand_their_height_over_the_steps(name):
    layout, sheet = MADE[name], SHEETS[name]
    ratio = sheet.ratio("elevation-heading")
    for section in (section for section in layout.sections if section.rake):
        (steps,) = sheet.shapes(f"elevation-{section.name}", "stair")
        top = sheet.shapes(f"elevation-{section.name}", "rail")[0]
        (x1, y1), (x2, y2) = top[0], top[1]
        nosings = [  # where a level tread ends and the next stroke goes down
            b for a, b, c in zip(steps, steps[1:], steps[2:], strict=False)
            if a[1] == b[1] and b[0] > a[0] and c[1] > b[1]
        ]  # fmt: skip
        flight = next(stair for stair in layout.deck.stairs if stair.name in
                      {run.stair for run in layout.runs if run.name == section.run})  # fmt: skip
        assert len(nosings) == flight.risers
        for x, y in nosings:
            rail_y = y1 + (y2 - y1) * (x - x1) / (x2 - x1)
            assert (y - rail_y) * ratio == pytest.approx(
                layout.system.stair_guard_height_nm / 1e6, abs=4 * ROUNDING * ratio
            )
        bottom = max(y for _, y in steps) * ratio
        assert bottom == pytest.approx(flight.total_rise_nm / 1e6, abs=ROUNDING * ratio)


def test_removed_pickets_are_crossed_where_line_posts_stand():
    section = next(s for s in MADE["plain"].sections if s.pickets.removed_nm)
    sheet = SHEETS["plain"]
    ratio = sheet.ratio("elevation-heading")
    crosses = sheet.shapes(f"elevation-{section.name}", "mark")
    places = [centre(one + other)[0] * ratio for one, other in zip(crosses[::2], crosses[1::2],
                                                                   strict=True)]  # fmt: skip
    assert places == pytest.approx([at / 1e6 for at in section.line_posts_nm], abs=0.1)


def test_walls_are_hatched_and_stairs_run_on_the_far_side_of_their_edge():
    """The outline's right hand is outside: house on the left of the L, stair into its notch."""
    sheet = SHEETS["el"]
    (outline,) = sheet.shapes("level-1", "deck")
    left = min(x for x, _ in outline)
    hatching = [point for stroke in sheet.shapes("edge-1-6", "wall") for point in stroke]
    assert all(x <= left + ROUNDING for x, _ in hatching)
    assert min(x for x, _ in hatching) < left - 1
    tail, head = sheet.shapes("stair-1", "mark")[0]
    (_, notch), (_, _) = outline[2], outline[3]
    assert head[1] < tail[1] < notch, "down the stair is up the paper, out of the deck"


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_element_has_one_group_with_a_title(name):
    layout, sheet = MADE[name], SHEETS[name]
    groups = list(sheet.root.iter(f"{SVG}g"))
    assert len(groups) == len(sheet.groups), "ids are unique"
    assert all(group.find(f"{SVG}title").text for group in groups)
    expected = {post.name for post in layout.posts} | {run.name for run in layout.runs}
    expected |= {f"section-{s.name}" for s in layout.sections}
    expected |= {f"elevation-{s.name}" for s in layout.sections}
    expected |= {f"handrail-{rail.name}" for rail in layout.handrails}
    assert expected <= set(sheet.groups)
    for kind, count in (
        ("stair", len(layout.stairs)),
        ("level", len(layout.deck.levels)),
        ("edge", sum(len(level.edges) for level in layout.deck.levels)),
    ):
        assert sum(id_.startswith(f"{kind}-") for id_ in sheet.groups) == count, kind


@pytest.mark.parametrize("name", LAYOUTS)
def test_picture_is_described_for_those_who_cannot_see_it(name):
    root = SHEETS[name].root
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "title desc"
    words = {element.get("id"): element.text for element in root if element.get("id")}
    assert words["title"].startswith("Guard plan and elevations")
    assert f"{len(MADE[name].posts)} posts" in words["desc"]
    assert root.get("viewBox").split()[2] + "mm" == root.get("width")


def letterings(drawing):
    """Every text with the box it takes on the sheet."""
    for group in drawing.groups:
        dx, dy = group.offset
        for shape in group.shapes:
            parts = exploded(shape) if isinstance(shape, Dimension) else [shape]
            for text in (part for part in parts if isinstance(part, Text) and part.content):
                yield text, tuple((x + dx, y + dy) for x, y in corners(text))


@pytest.mark.parametrize("units", ["imperial", "metric"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_no_lettering_stands_on_other_lettering(name, units):
    drawing = drawing_sheet.compose(
        MADE[name], units, lambda nm: length_text(nm, Units(units)), "Reference"
    )
    boxes = sorted(letterings(drawing), key=lambda pair: min(y for _, y in pair[1]))
    clashes = []
    for i, (text, box) in enumerate(boxes):
        foot = max(y for _, y in box)
        for other, below in boxes[i + 1 :]:
            if min(y for _, y in below) > foot:
                break
            if overlap(box, below) > 0.35 * min(text.height, other.height):
                clashes.append((text.content, other.content))
    assert clashes == []


@pytest.mark.parametrize("name", LAYOUTS)
def test_everything_stays_on_the_sheet(name):
    drawing = drawing_sheet.compose(MADE[name], "imperial", str, "Reference")
    for _, box in letterings(drawing):
        assert all(0 < x < drawing.width and 0 < y < drawing.height for x, y in box)


HOSTILE = [
    pytest.param('<script>alert("x")</script>', id="markup"),
    pytest.param("]]>&amp;&#0;<!--'\"", id="entities and comments"),
    pytest.param("a\x00b\x1b[31m\x7f\ud800\ufffe\n", id="what XML forbids"),
    pytest.param("\u05d0\u05d1\u05d2 \u202egnp.exe\u2066", id="right to left and overrides"),
    pytest.param("\u6881" * 200, id="long and wide"),
    pytest.param("\U0001f6a7", id="beyond the basic plane"),
]


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_gives_well_formed_xml_without_new_elements(name):
    plain = Sheet(render(MADE["plain"], "imperial", reference="x"))
    root = ElementTree.fromstring(render(hostile(name), "imperial", reference=name))
    kinds = {element.tag for element in root.iter()}
    assert kinds == {element.tag for element in plain.root.iter()}
    everything = "".join(root.itertext())
    assert not set(everything) & set("\u202e\u2066\x00\x1b\x7f\n") - {"\n"}


def test_a_name_is_kept_letter_for_letter_in_its_title():
    sheet = Sheet(render(hostile("<b>&'\" \u05d0"), "imperial"))
    assert sheet.title("level-1") == "Level <b>&'\" \u05d0"


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("a\tb\u2028c", "a b c"),
        ("\x00\x9f", "\ufffd\ufffd"),
        ("\u200e\u202e", ""),
        ("é & <", "é &amp; &lt;"),
        ("\U0001fffe", "\ufffd"),
    ],
)
def test_escaping(text, written):
    assert escaped(text) == written


def test_same_layout_gives_the_same_bytes_in_every_process():
    script = (
        "import sys, hashlib;"
        "from tests.unit.adapters.documents.decks import el_shape;"
        "from service.adapters.documents.drawing_svg import render;"
        "print(hashlib.sha256(render(el_shape(), 'metric')).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.getcwd()},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_a_great_deck_is_drawn_within_bounds():
    svg = render(MADE["many"], "imperial")
    assert len(MADE["many"].posts) > 200
    assert len(svg) < 2_000_000


def test_sections_past_the_bound_are_left_out_and_the_sheet_says_so(monkeypatch):
    monkeypatch.setattr(drawing_sheet, "MOST_SECTIONS", 4)
    sheet = Sheet(render(MADE["plain"], "imperial"))
    assert "elevation-S4" in sheet.groups
    assert "elevation-S5" not in sheet.groups
    left_out = len(MADE["plain"].sections) - 4
    assert any(f"{left_out} further sections" in text for text in sheet.texts("title-block"))


def test_dimensions_print_the_layouts_lengths():
    sheet, layout = SHEETS["plain"], MADE["plain"]
    run = next(run for run in layout.runs if len(run.bays) == 3)
    assert sheet.texts(run.name) == [*(["5' 1-1/2\"", "5' 3\"", "5' 1-1/2\""]), "R4: 15' 6\""]
    spans = [b - a for a, b in pairwise([0, 61.5, 124.5, 186.0])]  # the same in inches
    assert [bay.span_nm / 25.4e6 for bay in run.bays] == pytest.approx(spans)


def test_title_block_names_job_and_cautions():
    svg = render(MADE["plain"], "metric", reference="Job 12", cautions=["Mind the step."])
    words = " ".join(Sheet(svg).texts("title-block"))
    assert "Evenbay" in words
    assert "Job: Job 12" in words
    assert "Mind the step." in words
    assert "millimetres" in words

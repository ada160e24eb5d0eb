import hashlib
import io
import itertools
import math
import os
import subprocess
import sys

import ezdxf
import pytest

from service.adapters.documents.drawing_dxf import render
from service.adapters.documents.dxf_sketch import LAYERS
from service.adapters.documents.plan_page import element_id
from service.adapters.documents.primitives import Layer
from service.domain.layout.records import PostPosition
from tests.unit.adapters.documents.decks import LAYOUTS, hostile, plain

MILLIMETRES = {"metric": 1.0, "imperial": 25.4}
ONCE = """
import hashlib, sys
from service.adapters.documents.drawing_dxf import render
from tests.unit.adapters.documents.decks import plain
sys.stdout.write(hashlib.sha256(render(plain(), "metric")).hexdigest())
"""


@pytest.fixture(scope="module", params=[(name, units) for units in MILLIMETRES for name in
                                        ("el", "levels", "switchback", "octagon", "bare")],
                ids=" ".join)  # fmt: skip
def drawn(request):
    name, units = request.param
    layout = LAYOUTS[name]()
    return layout, Read(render(layout, units), MILLIMETRES[units])


class Read:
    """A DXF file read back by the library; lengths are given in millimetres."""

    def __init__(self, data, size):
        self.document = ezdxf.read(io.TextIOWrapper(io.BytesIO(data), "utf-8"))
        self.size = size
        self.groups = dict(self.document.groups)

    def polylines(self, group, layer):
        """Points of the polylines of a layer in a named group. [mm]"""
        return [
            [(x * self.size, y * self.size) for x, y in entity.get_points("xy")]
            for entity in sorted(self.groups[group.upper()], key=lambda e: int(e.dxf.handle, 16))
            if entity.dxftype() == "LWPOLYLINE" and entity.dxf.layer == layer
        ]


def length(points):
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def close(found_mm, expected_nm):
    return found_mm == pytest.approx(expected_nm / 1e6, abs=1e-6)


def extent(points):
    xs, ys = zip(*points, strict=True)
    return min(xs), max(xs), min(ys), max(ys)


def test_a_reader_finds_nothing_to_mend(drawn):
    audit = drawn[1].document.audit()
    assert not audit.errors
    assert not audit.fixes


def test_units_are_told(drawn):
    header, size = drawn[1].document.header, drawn[1].size
    assert header["$INSUNITS"] == (4 if size == 1 else 1)
    assert header["$ACADVER"] == "AC1024"


def test_posts_stand_where_the_layout_has_them(drawn):
    layout, read = drawn
    first = {level.name for level in layout.deck.levels[:1]}
    for post in layout.posts:
        (square,) = read.polylines(element_id(post.name), "EXISTING") + read.polylines(
            element_id(post.name), "POSTS"
        )
        assert close(math.dist(square[0], square[1]), layout.system.post_width_nm)
        if post.level in first:
            for k in (0, 1):
                assert close(sum(point[k] for point in square) / 4, post.at[k])


def test_sections_in_plan_are_as_long_as_laid_out(drawn):
    layout, read = drawn
    assert layout.sections or not layout.runs
    for section in layout.sections:
        (line,) = read.polylines(f"section-{element_id(section.name)}", "RAILS")
        assert length(line) == pytest.approx(section.length_nm / 1e6, abs=1e-3)


def test_rails_in_elevation_are_as_long_as_they_are_cut(drawn):
    layout, read = drawn
    for section in layout.sections:
        outlines = read.polylines(f"elevation-{element_id(section.name)}", "RAILS")
        rails = [rail for rail in section.rails if rail.place != "infill"]
        assert len(outlines) == len(rails)
        for rail, outline in zip(rails, outlines, strict=True):
            if rail.saw_deg:  # the blank lies along the slope: project it on its own direction
                (x1, y1), (x2, y2) = outline[0], outline[1]
                along = math.dist((x1, y1), (x2, y2))
                ux, uy = (x2 - x1) / along, (y2 - y1) / along
                reach = [x * ux + y * uy for x, y in outline]
                assert close(max(reach) - min(reach), rail.length_nm)
            else:
                left, right, *_ = extent(outline)
                assert close(right - left, rail.length_nm)


def test_pickets_stand_at_their_pitch(drawn):
    layout, read = drawn
    for section in layout.sections:
        outlines = read.polylines(f"elevation-{element_id(section.name)}", "PICKETS")
        assert len(outlines) == len(section.pickets.centres_nm)
        centres = []
        for outline in outlines:
            left, right, *_ = extent(outline)
            assert close(right - left, section.pickets.width_nm)
            centres.append((left + right) / 2)
        spans, laid_out = map(itertools.pairwise, (centres, section.pickets.centres_nm))
        for (a, b), (x, y) in zip(spans, laid_out, strict=True):
            assert close(b - a, y - x)


def test_posts_in_elevation_stand_at_their_spans(drawn):
    layout, read = drawn
    existing = {p.name for p in layout.posts if p.position is PostPosition.EXISTING}
    for section in layout.sections:
        names = [section.start.post, *section.line_posts, section.end.post]
        if existing & set(names):
            continue
        group = f"elevation-{element_id(section.name)}"
        centres = [sum(extent(o)[:2]) / 2 for o in read.polylines(group, "POSTS")]
        places = [0, *section.line_posts_nm, section.length_nm]
        assert len(centres) == len(places)
        for centre, place in zip(centres, places, strict=True):
            assert close(centre - centres[0], place)


def test_the_deck_keeps_its_outline(drawn):
    layout, read = drawn
    lengths = sorted(
        math.dist(a, b) / 1e6
        for level in layout.deck.levels
        for a, b in zip(level.outline, [*level.outline[1:], level.outline[0]], strict=True)
    )
    found = [
        points for group in read.groups if group.startswith("LEVEL")
        for points in read.polylines(group, "DECK-EDGE")
    ]  # fmt: skip
    sides = sorted(
        math.dist(a, b)
        for points in found
        for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )
    assert sides == pytest.approx(lengths, abs=1e-6)


def test_layers_bear_terms_of_the_trade():
    read = Read(render(LAYOUTS["el"](), "metric"), 1.0)
    used = {entity.dxf.layer for entity in read.document.modelspace()}
    assert used <= set(LAYERS.values()) | {"DIMENSIONS"}
    assert {"POSTS", "RAILS", "PICKETS", "STAIRS", "DECK-EDGE", "WALLS", "DIMENSIONS",
            "NOTES"} <= used  # fmt: skip
    assert set(LAYERS) == set(Layer)


def test_every_process_writes_the_same_bytes():
    digests = {
        subprocess.run(
            [sys.executable, "-c", ONCE], capture_output=True, check=True, text=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert digests == {hashlib.sha256(render(plain(), "metric")).hexdigest()}


def test_classes_stand_in_an_order_of_their_own():
    """The library lists them in the order of a set, which two processes seldom share."""
    document = Read(render(plain(), "metric"), 1.0).document
    names = [(entry.dxf.name, entry.dxf.cpp_class_name) for entry in document.classes]
    assert len(names) > 3
    assert names == sorted(names)


@pytest.mark.parametrize("text", ["%%d %%%u", "^J^M", "\\U+0041 \\M+1A", "a\x00b\n0\nEOF", "é梁"])
def test_no_text_is_read_as_a_code(text):
    read = Read(render(hostile(text), "metric", reference=text), 1.0)
    assert not read.document.audit().errors
    letters = [e.plain_text() for e in read.document.modelspace() if e.dxftype() == "TEXT"]
    bare = text.replace("\n", " ").replace("\x00", "\ufffd")
    spaced = ["".join(one.split()) for one in letters]
    assert "".join(bare.split()) in spaced

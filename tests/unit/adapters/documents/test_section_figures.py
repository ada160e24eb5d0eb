"""Elevations and bars on paper: as long as the layout says, at the scale printed beside them."""

import re

import pytest

from service.adapters.documents.cut_bars import draw_bar
from service.adapters.documents.primitives import Dimension, Layer, Line, Polyline
from service.adapters.documents.section_figures import section_figures
from service.adapters.documents.site_checks import checks
from service.domain.lengths import MILLIMETRE
from service.quantities import length_text
from service.usecases.orders import Units
from tests.unit.adapters.documents.printing import QUOTES, answer, layout_of

ROOM = (180.0, 120.0)


def figures(name, magnified):
    units = Units(answer(name)["units"])
    return list(
        section_figures(
            layout_of(name), units.value, lambda nm: length_text(nm, units), ROOM, magnified
        )
    )


@pytest.mark.parametrize("magnified", [1.0, 1.25])
@pytest.mark.parametrize("name", QUOTES)
def test_posts_stand_as_far_apart_on_paper_as_the_scale_says(name, magnified):
    for figure, section in zip(figures(name, magnified), layout_of(name).sections, strict=True):
        ratio = int(re.search(r"1:(\d+)", figure.scale)[1])
        (group,) = figure.picture.groups
        posts = [
            shape
            for shape in group.shapes
            if isinstance(shape, Polyline) and shape.layer in (Layer.POST, Layer.STANDING_POST)
        ]
        middles = [sum(x for x, _ in post.points) / 4 for post in posts]
        apart = (max(middles) - min(middles)) * magnified * ratio
        assert apart == pytest.approx(section.length_nm / MILLIMETRE, abs=0.01), section.name
        assert figure.picture.box.width * magnified <= ROOM[0]
        assert figure.picture.box.height * magnified <= ROOM[1]


@pytest.mark.parametrize("name", QUOTES)
def test_every_picket_is_drawn(name):
    for figure, section in zip(figures(name, 1.25), layout_of(name).sections, strict=True):
        (group,) = figure.picture.groups
        drawn = [
            shape
            for shape in group.shapes
            if isinstance(shape, Polyline) and shape.layer is Layer.PICKET
        ]
        assert len(drawn) == len(section.pickets.centres_nm)


@pytest.mark.parametrize("name", QUOTES)
def test_pieces_lie_on_the_bar_where_they_are_sawn(name):
    for plan in answer(name)["cut_plans"]:
        longest = max(bar["length"]["mm"] for bar in plan["bars"])
        for bar in plan["bars"]:
            (group,) = draw_bar(bar, longest, 134.0).groups
            boxes = [shape for shape in group.shapes if isinstance(shape, Polyline)]
            by = 134.0 / longest
            assert max(x for x, _ in boxes[0].points) == pytest.approx(bar["length"]["mm"] * by)
            for box, cut in zip(boxes[1:], bar["cuts"], strict=True):
                left, right = (edge(x for x, _ in box.points) for edge in (min, max))
                assert left == pytest.approx(cut["from_start"]["mm"] * by)
                assert right - left == pytest.approx(cut["length"]["mm"] * by)
            whole = bar["length"]["mm"] * by
            hatches = [
                s for s in group.shapes if isinstance(s, Line) and s.layer is Layer.DIMENSION
            ]
            assert hatches
            for hatch in hatches:
                assert all(-0.001 <= x <= whole + 0.001 for x, _ in (hatch.start, hatch.end))


def test_the_inspection_names_the_largest_opening():
    layout = answer()["layout"]
    layout["clear_openings"] = [
        {"element": name, "place": "between pickets", "clear": {"mm": mm, "text": text},
         "on_stair": False}
        for name, mm, text in (("S1", 95.25, "A"), ("S2", 98.4, "B"), ("S3", 79.4, "C"))
    ]  # fmt: skip
    heights = {"guard": "G", "stair": "ST", "gap": "B", "stair gap": "SB"}
    told = [line for line in checks(layout, heights) if "clear opening" in line]
    assert told == [
        "No clear opening on the level larger than laid out, B (between pickets, S2), measured at "
        "the widest."
    ]


def test_the_number_of_a_stairs_post_clears_the_dimensions_that_pass_it():
    layout = layout_of("quote")
    stairs = [section for section in layout.sections if section.rake]
    found = section_figures(layout, "imperial", str, (180.0, 120.0), 1.25)
    figures = {figure.name: figure for figure in found}
    assert stairs
    for section in stairs:
        (group, *_) = figures[section.name].picture.groups
        shapes = list(group.shapes)
        names = [i for i, s in enumerate(shapes) if getattr(s, "content", "") == section.start.post]
        sloped = [i for i, s in enumerate(shapes) if isinstance(s, Dimension) and "slope" in s.text]
        assert names
        assert sloped
        assert shapes[names[0]].boxed
        assert min(names) > max(sloped)

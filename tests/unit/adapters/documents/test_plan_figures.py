"""Plans for a page: every post is numbered in some part, whatever the deck's size."""

import itertools

import pytest

from service.adapters.documents.extents import bounds
from service.adapters.documents.labels import lettering
from service.adapters.documents.plan_drawing import draw_plan
from service.adapters.documents.plan_figures import plan_figures
from service.adapters.documents.primitives import Text
from service.adapters.documents.scales import Scale
from service.domain.layout.deck import Deck
from service.domain.layout.lay_out import lay_out
from service.quantities import length_text
from service.usecases.orders import Units
from tests.unit.domain.layout.builders import SYSTEM, level

ROOM = (180.0, 180.0)


def figures(wide_ft, deep_ft, magnified=1.25, **more):
    wide, deep = 12 * wide_ft, 12 * deep_ft
    outline = [(0, 0), (wide, 0), (wide, deep), (0, deep)]
    layout = lay_out(Deck((level(outline, "oooo"),)), SYSTEM)
    found = plan_figures(
        layout, "imperial", lambda nm: length_text(nm, Units.IMPERIAL), ROOM, magnified, **more
    )
    return layout, list(found)


def shapes(figure):
    """Give the shapes of a figure."""
    return [shape for group in figure.picture.groups for shape in group.shapes]


def seen(figure):
    """Give the lettering that a figure shows whole or in part."""
    box = figure.window or figure.picture.box
    for group in figure.picture.groups:
        for shape in group.shapes:
            if isinstance(shape, Text):
                x, y = shape.at
                if box.left <= x <= box.right and box.top <= y <= box.bottom:
                    yield shape.content


@pytest.mark.parametrize("size", [(12, 10), (20, 14), (40, 20), (150, 30), (400, 400)])
def test_every_post_is_numbered_on_some_page(size):
    layout, found = figures(*size)
    numbered = {text for figure in found for text in seen(figure)}
    assert {post.name for post in layout.posts} - numbered == set()
    assert len(found) <= 25


@pytest.mark.parametrize("size", [(12, 10), (150, 30), (900, 900)])
def test_figures_fit_their_room_at_the_scale_they_name(size):
    _, found = figures(*size)
    for figure in found:
        box = figure.window or figure.picture.box
        assert box.width * figure.magnified <= ROOM[0] + 0.001
        assert box.height * figure.magnified <= ROOM[1] + 0.001


def test_neighbouring_parts_lap_over_each_other():
    parts = figures(150, 30)[1][1:]
    windows = [figure.window for figure in parts]
    assert len(windows) > 2
    assert len({window.top for window in windows}) == 1, "one row"
    for one, following in itertools.pairwise(windows):
        assert one.left < following.left < one.right - 0.1 * one.width
    whole = parts[0].picture.box
    assert windows[0].left < whole.left, "letters at the rim are not cut by the frame"
    assert windows[-1].right > whole.right


def test_a_plan_that_is_easily_read_has_no_parts():
    assert [figure.part for figure in figures(12, 10)[1]] == [""]
    assert [figure.part for figure in figures(150, 30, parts=False)[1]] == [""]


def test_a_view_of_the_whole_too_small_to_number_has_no_numbers():
    layout, found = figures(900, 900)
    assert not {post.name for post in layout.posts} & set(seen(found[0]))
    assert [figure.part for figure in found[1:]] == [
        f"part {i} of {len(found) - 1}" for i in range(1, len(found))
    ]


def test_a_plan_hardly_larger_than_the_page_is_not_cut_into_four_of_the_same():
    found = figures(29, 22)[1]
    parts = [figure for figure in found if figure.part]
    assert len(parts) == 2


def test_a_view_of_the_whole_whose_parts_follow_leaves_the_lengths_of_runs_to_them():
    layout, found = figures(60, 30)
    runs = {run.name for run in layout.runs}

    def told(figure):
        said = {text.content.split(":")[0] for text in lettering(shapes(figure)) if text}
        return said & runs

    assert found[0].part == ""
    assert told(found[0]) == set()
    assert set().union(*(told(figure) for figure in found[1:])) == runs


def test_the_name_of_a_level_keeps_within_its_sides():
    outline = [(0, 0), (240, 0), (240, 120), (0, 120)]
    named = level(outline, "oooo", name="terrace at the back of the house")
    layout = lay_out(Deck((named,)), SYSTEM)
    scale = Scale(96, "")
    (plan, *_) = draw_plan(layout, (named,), scale, lambda nm: length_text(nm, Units.IMPERIAL))
    (name,) = lettering(plan.shapes)
    assert name.bold
    box, sides = bounds([name]), bounds([plan.shapes[0]])
    assert sides.left <= box.left
    assert box.right <= sides.right

"""Plans for a page: every post is numbered in some part, whatever the deck's size."""

import itertools

import pytest

from service.adapters.documents.plan_figures import plan_figures
from service.adapters.documents.primitives import Text
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
    assert windows[0].left == whole.left
    assert windows[-1].right == pytest.approx(whole.right)


def test_a_plan_that_is_easily_read_has_no_parts():
    assert [figure.part for figure in figures(12, 10)[1]] == [""]
    assert [figure.part for figure in figures(150, 30, parts=False)[1]] == [""]


def test_a_view_of_the_whole_too_small_to_number_has_no_numbers():
    layout, found = figures(900, 900)
    assert not {post.name for post in layout.posts} & set(seen(found[0]))
    assert [figure.part for figure in found[1:]] == [
        f"part {i} of {len(found) - 1}" for i in range(1, len(found))
    ]

"""Primitives, extents and scales, each against figures worked by hand."""

import pytest

from service.adapters.documents.extents import bounds, corners, wrapped
from service.adapters.documents.labels import Taken, chain, label
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Dimension,
    Layer,
    Line,
    Text,
    exploded,
)
from service.adapters.documents.scales import METRIC, bar_steps, largest_scale
from service.domain.lengths import FOOT, METRE


def parts(dimension):
    made = list(exploded(dimension))
    lines = [part for part in made if isinstance(part, Line)]
    (text,) = (part for part in made if isinstance(part, Text))
    return lines, text


def test_dimension_lies_to_the_right_of_travel_with_dots_at_its_ends():
    made = list(exploded(Dimension((0, 0), (40, 0), 8, "40")))
    assert [part.centre for part in made if isinstance(part, Circle)] == [(0, 8), (40, 8)]
    lines, text = parts(Dimension((0, 0), (40, 0), 8, "40"))
    assert (lines[-1].start, lines[-1].end) == ((0, 8), (40, 8))
    assert text.at[0] == 20
    assert text.at[1] < 8, "text stands on its line"


@pytest.mark.parametrize(
    ("end", "turn_deg"),
    [
        pytest.param((0, 40), -90, id="down"),
        pytest.param((0, -40), -90, id="up"),
        pytest.param((-40, 0), 0, id="backwards"),
        pytest.param((30, 30), 45, id="slanting down"),
        pytest.param((-0.01, 40), -90, id="a hair off plumb reads the same way"),
    ],
)
def test_dimension_text_reads_from_the_bottom_or_the_right(end, turn_deg):
    _, text = parts(Dimension((0, 0), end, 8, "40"))
    assert text.turn_deg == pytest.approx(turn_deg, abs=0.1)


def test_text_outside_a_dimension_keeps_off_it():
    for outside, anchor in (("start", Anchor.END), ("end", Anchor.START)):
        _, text = parts(Dimension((0, 0), (3, 0), 8, "3-1/8", outside=outside))
        box = bounds([text])
        assert text.anchor is anchor
        assert box.right < 0 if outside == "start" else box.left > 3


def test_turned_text_takes_the_paper_it_covers():
    text = Text((10, 10), "abcd", 3.0, turn_deg=-90)
    box = bounds([text])
    assert (box.bottom, box.top) == pytest.approx((10, 10 - text.width))
    assert len(corners(text)) == 4


def test_chain_counts_equal_bays_where_their_text_has_no_room():
    points = [(x * 12.0, 0.0) for x in range(5)]
    made = chain(points, ["6' 0\""] * 4, 8)
    assert [d.text for d in made] == ["6' 0\""] * 4, "enough room: one each"
    made = chain([(x * 4.0, 0.0) for x in range(6)], ["6' 0\""] * 4 + ["5' 0\""], 8)
    assert [d.text for d in made] == ["4 × 6' 0\"", "5' 0\""]
    assert (made[0].start, made[0].end) == ((0, 0), (16, 0))
    assert made[1].lift > 0


def test_labels_give_way_and_at_last_stay_away():
    taken = Taken()
    first = label(taken, (0.0, 0.0), (0.0, -1.0), "P1")
    assert first[0].at[1] < 0
    count = 1
    while made := label(taken, (0.0, 0.0), (0.0, -1.0), "P1"):
        assert made[0].at != first[0].at
        count += 1
        assert count < 60
    assert count > 5


def test_wrapping_keeps_every_word_within_the_width():
    lines = wrapped("Top rail 5' 9\u00a01/2\" and " + "x" * 40, 3.0, 30.0)
    assert all(len(line) * 3.0 * 0.62 <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == "Toprail5'9\u00a01/2\"and" + "x" * 40


def test_largest_scale_that_fits_is_taken_and_the_smallest_at_worst():
    assert largest_scale("metric", lambda s: s.paper(5 * METRE) <= 110).ratio == 50
    assert largest_scale("imperial", lambda s: s.paper(20 * FOOT) <= 127).ratio == 48
    assert largest_scale("metric", lambda s: False) is METRIC[-1]


def test_scale_bar_is_in_the_units_asked_for():
    fifty = next(scale for scale in METRIC if scale.ratio == 50)
    assert bar_steps(fifty, "metric", 90) == (METRE, ("0", "1", "2", "3", "4 m"))
    part_nm, figures = bar_steps(fifty, "imperial", 90)
    assert part_nm == 2 * FOOT
    assert figures[-1] == "8'"


def test_bounds_of_lines_and_circles():
    box = bounds([Line((3, 1), (0, 2), Layer.DECK), Circle((5, 5), 1, Layer.MARK)])
    assert (box.left, box.top, box.right, box.bottom) == (0, 1, 6, 6)

"""A job too large to list is refused from its estimate, before anything is laid out.

Each limit lies just at what the deck takes. Outline 16 ft x 12 ft: 672 in round; the stair falls
52-1/2 in over 70 in, so its two sides count 245 in.
"""

from dataclasses import replace

import pytest

from service.domain.errors import TooLarge
from service.domain.layout.deck import Landing, Turn
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import Cables
from service.domain.lengths import METRE, inches
from service.usecases.bounds import MOST_SUPPORTS, refuse_oversize
from tests.unit.domain.layout.builders import SYSTEM, stair, stair_deck

REACH = inches(672 + 245)
STAIRS = inches(245)
HANDRAIL = HandrailParts(
    height_nm=inches(36),
    width_nm=inches(1, 1, 2),
    clearance_nm=inches(1, 1, 2),
    bracket_spacing_nm=inches(48),
    bracket_end_nm=inches(12),
    longest_nm=inches(192),
)
CABLES = Cables(
    diameter_nm=inches(0, 3, 16),
    max_gap_nm=inches(3),
    max_support_nm=inches(42),
    max_length_nm=inches(600),
)


def unsupported(limit):
    return replace(SYSTEM, max_unsupported_nm=limit)


def support(limit):
    return replace(SYSTEM, infill=replace(CABLES, max_support_nm=limit))


def bracket(limit):
    return replace(SYSTEM, handrail=replace(HANDRAIL, bracket_spacing_nm=limit))


def longest(limit):
    return replace(SYSTEM, handrail=replace(HANDRAIL, longest_nm=limit))


@pytest.mark.parametrize(
    ("system", "length", "where"),
    [
        pytest.param(unsupported, REACH, ("limits", "unsupported"), id="support legs"),
        pytest.param(support, REACH, ("cables", "max_support"), id="spreaders"),
        pytest.param(bracket, STAIRS, ("handrail", "bracket_spacing"), id="brackets"),
        pytest.param(longest, STAIRS, ("handrail", "longest"), id="pieces of handrail"),
    ],
)
def test_supports_are_bounded_by_the_limit_that_asks_for_them(system, length, where):
    refuse_oversize(stair_deck(), system(length // MOST_SUPPORTS))
    with pytest.raises(TooLarge) as refused:
        refuse_oversize(stair_deck(), system(length // (MOST_SUPPORTS + 1)))
    assert refused.value.where == ("system", *where)


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"unit_run_nm": 999 * METRE}, id="flights"),
        pytest.param(
            {"flights": (3, 4), "landings": (Landing(Turn.STRAIGHT, 9_999 * METRE),)}, id="landing"
        ),
    ],
)
def test_a_stair_of_kilometres_is_refused(changes):
    deck = replace(stair_deck(), stairs=(stair(**changes),))
    with pytest.raises(TooLarge, match="pickets"):
        refuse_oversize(deck, SYSTEM)

"""A whole small run laid out a second time, by trying everything, from the trade's rules alone.

Nothing of the service's layout is used here but its answer. The rules, each common practice, no
source: pickets of a fixed pitch are as few as keep both end gaps, which are equal, within the
normal gap; at a free pitch they are as few as keep equal gaps below the limit; line posts take a
picket's place, as few as keep every bay within the span, mirrored if they can be, then the most
even; a rail is as long as from face to face less what is left free at each end, and the bottom
rail stops short of each line post.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.layout.deck import Deck
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import Assembly, Joint, JointKind, Method
from service.domain.lengths import INCH, inches
from tests.unit.domain.layout.builders import SYSTEM, level

# All in sixteenths of an inch: the small system below, not the service's records of it.
POST, PICKET, PITCH, SPAN, WALL, CUT, FREE_END = 32, 12, 72, 640, 32, 16, 1
LIMIT = 64
SIXTEENTH = INCH // 16
SMALL = replace(
    SYSTEM,
    max_span_nm=SPAN * SIXTEENTH,
    max_section_nm=inches(192),
    joints={kind: Joint(clearance_nm=FREE_END * SIXTEENTH) for kind in JointKind},
    assembly=Assembly.POSTS_FIRST,
)


def front(length: int, **changes: object) -> Layout:
    """A deck between two walls, guard along its front only; length in sixteenths."""
    deck = level([(0, 0), (1, 0), (1, 96), (0, 96)], "owww")
    wide = length * SIXTEENTH
    deck = replace(deck, outline=((0, 0), (wide, 0), (wide, inches(96)), (0, inches(96))))
    return lay_out(Deck((deck,)), replace(SMALL, **changes))


def fixed_by_hand(clear: int) -> list[Fraction]:
    """Picket centres from the post's face; tries every count from one up."""
    for count in range(1, 200):
        end = Fraction(clear - (count - 1) * PITCH - PICKET, 2)
        if end <= PITCH - PICKET:
            return [end + Fraction(PICKET, 2) + i * PITCH for i in range(count)]
    raise AssertionError("no count of pickets")


def free_by_hand(clear: int) -> list[Fraction]:
    for count in range(1, 400):
        gap = Fraction(clear - count * PICKET, count + 1)
        if gap < LIMIT:
            return [gap * (i + 1) + PICKET * i + Fraction(PICKET, 2) for i in range(count)]
    raise AssertionError("no count of pickets")


def line_posts_by_hand(centres: list[Fraction], whole: int) -> tuple[Fraction, ...]:
    """Fewest, then mirrored, then most even; what leans, leans towards the far end."""
    for count in range(len(centres) + 1):
        ways = []
        for posts in combinations(centres, count):
            bays = [b - a for a, b in pairwise((Fraction(0), *posts, Fraction(whole)))]
            if max(bays) <= SPAN:
                ways.append((bays != bays[::-1], sum(bay * bay for bay in bays), posts))
        if ways:
            return min(ways)[2]
    raise AssertionError("no placement")


def in_sixteenths(places_nm: tuple[int, ...]) -> list[Fraction]:
    return [Fraction(place, SIXTEENTH) for place in places_nm]


def close(ours: list[Fraction], theirs: list[Fraction]) -> bool:
    """To two nanometres: a half of an odd sixteenth is no whole nanometre."""
    near = Fraction(2, SIXTEENTH)
    return len(ours) == len(theirs) and all(
        abs(a - b) <= near for a, b in zip(ours, theirs, strict=True)
    )


@given(st.integers(12 * 16, 118 * 16))
def test_a_continuous_run(length: int) -> None:
    (section,) = front(length).sections
    whole = length - 2 * (WALL + POST // 2)
    half = Fraction(POST, 2)
    grid = [half + centre for centre in fixed_by_hand(whole - POST)]
    posts = line_posts_by_hand(grid, whole)
    ours = in_sixteenths(section.line_posts_nm)
    leaning = [whole - post for post in reversed(posts)]
    assert close(ours, list(posts)) or close(ours, leaning)
    standing = [grid.index(min(grid, key=lambda c: abs(c - post))) for post in ours]
    assert close(
        in_sixteenths(section.pickets.centres_nm),
        [centre for i, centre in enumerate(grid) if i not in standing],
    )
    top, *bottom = section.rails
    assert Fraction(top.length_nm, SIXTEENTH) == whole - POST - 2 * FREE_END
    marks = [half + FREE_END, *ours, whole - half - FREE_END]
    expected = [
        right - left - CUT * ((i > 0) + (i < len(ours)))
        for i, (left, right) in enumerate(pairwise(marks))
    ]
    assert close([Fraction(rail.length_nm, SIXTEENTH) for rail in bottom], expected)


@given(st.integers(12 * 16, 300 * 16), st.booleans())
def test_a_run_between_posts(length: int, punched: bool) -> None:
    pickets = SMALL.pickets if punched else replace(SMALL.pickets, pitch_nm=None)
    job = front(length, method=Method.BETWEEN_POSTS, pickets=pickets)
    whole = length - 2 * (WALL + POST // 2)
    bays = next(n for n in range(1, 50) if Fraction(whole, n) <= SPAN)
    assert len(job.sections) == bays
    assert sum(section.length_nm for section in job.sections) == whole * SIXTEENTH
    for section in job.sections:
        bay = Fraction(section.length_nm, SIXTEENTH)
        assert abs(bay - Fraction(whole, bays)) <= Fraction(1, SIXTEENTH)
        clear = Fraction(whole, bays) - POST
        row = (fixed_by_hand if punched else free_by_hand)(clear)  # type: ignore[arg-type]
        places = [Fraction(POST, 2) + centre for centre in row]
        assert close(in_sixteenths(section.pickets.centres_nm), places)
        for rail in section.rails:
            assert abs(Fraction(rail.length_nm, SIXTEENTH) - clear + 2 * FREE_END) <= Fraction(
                2, SIXTEENTH
            )


@pytest.mark.parametrize(
    ("length", "centres"),
    [
        # 24 in between walls: posts at 3 and 21 in, 16 in clear. Four pickets at 4-1/2 in take
        # 14-1/4 in and leave 7/8 in at each end, three leave 3-1/8 in, within the 3-3/4 in gap.
        pytest.param(24, [4.5, 9.0, 13.5], id="three pickets in 16 in"),
        # 20 in: 12 in clear. Three pickets leave 1-1/8 in, two 3-3/8 in.
        pytest.param(20, [4.75, 9.25], id="two pickets in 12 in"),
    ],
)
def test_runs_worked_with_a_pencil(length: int, centres: list[float]) -> None:
    (section,) = front(length * 16).sections
    assert [x / INCH for x in section.pickets.centres_nm] == centres

"""How a run is divided into sections and bays, and what else would do.

The rule, unless the caller wishes otherwise: fewest posts within the span limit, then a
mirror-symmetric choice where the count allows one, then the most even bays.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.choice_records import RunOption, Wish
from service.domain.layout.division import Division, PostCost, divide_section
from service.domain.layout.evenly import spread
from service.domain.layout.infill_glass import no_panels, stock_marks
from service.domain.layout.system import Glass, Method, RailingSystem
from service.domain.lengths import INCH, mm_of, split_evenly

# No run is divided into more bays than this; the request bounds keep real decks far below.
MAX_BAYS = 10_000
# Alternatives go this many posts beyond the fewest, and so many placements deep for each count.
MORE_POSTS = 2
PLACEMENTS = 4
# A post further than this from every wished place is near none of them: judgement, no source.
NEAR_NM = 12 * INCH
# A post this far from a view line no longer stands in it: judgement, no source.
CLEAR_NM = 24 * INCH


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to divide a run."""

    divisions: tuple[Division, ...]
    option: RunOption


def divide_run(
    length_nm: int, faces_nm: tuple[int, int], system: RailingSystem
) -> tuple[Division, ...]:
    """Divide a run into sections and bays by the rule.

    Args:
        length_nm: Centre to centre of the terminating posts. [nm]
        faces_nm: From the start and the end post's centre to its face along the run. [nm]
        system: Gives method, span and section limits, pickets and post width.

    Returns:
        Sections in order; their lengths add up to the run's.

    Raises:
        UnbuildableLayout: No division within the limits leaves room for the infill in every bay.
    """
    return next(_divisions(length_nm, faces_nm, system, None))


def alternatives(
    length_nm: int,
    faces_nm: tuple[int, int],
    system: RailingSystem,
    wish: Wish,
    cost: PostCost | None,
) -> tuple[Alternative, ...]:
    """Give the ways to divide a run, ranked by a wish.

    Args:
        length_nm, faces_nm, system: As for ``divide_run``.
        wish: What they are ranked by.
        cost: What a post at a place along the run costs the wish for places, or None.

    Raises:
        UnbuildableLayout: No division within the limits leaves room for the infill in every bay.
    """
    found: dict[tuple[int, ...], Alternative] = {}
    fewest: int | None = None
    for divisions in _divisions(length_nm, faces_nm, system, cost):
        one = Alternative(divisions, _option(divisions, length_nm, cost))
        fewest = one.option.posts if fewest is None else fewest
        if one.option.posts > fewest + MORE_POSTS:
            break
        found.setdefault(one.option.spans_nm, one)
    return tuple(sorted(found.values(), key=lambda one: _rank(one, wish)))


def _rank(one: Alternative, wish: Wish) -> tuple[int, ...]:
    option = one.option
    squares = sum(span * span for span in option.spans_nm)
    tie = (len(one.divisions), int(not option.symmetric), squares)
    if wish is Wish.MOST_EVEN:
        return option.uneven_nm, int(not option.symmetric), option.posts, *tie
    if wish in (Wish.NEAR_PLACES, Wish.CLEAR_OF_PLACES):
        return option.cost_nm, option.posts, *tie
    return option.posts, *tie


def _option(divisions: tuple[Division, ...], length_nm: int, cost: PostCost | None) -> RunOption:
    posts = [
        place
        for division in divisions
        for place in (*(division.start_nm + x for x in division.line_posts_nm), division.end_nm)
    ][:-1]
    spans = tuple(b - a for a, b in pairwise((0, *posts, length_nm)))
    return RunOption(
        posts=len(posts),
        spans_nm=spans,
        uneven_nm=max(spans) - min(spans),
        symmetric=all(abs(a - b) <= 1 for a, b in zip(spans, spans[::-1], strict=True)),
        cost_nm=sum(map(cost, posts)) if cost else 0,
    )


def cost_of_places(places_nm: Sequence[int], wish: Wish) -> PostCost | None:
    """Say what a post along a run costs a wish for places, or None where no place is near it.

    Args:
        places_nm: Wished places along the run. [nm]
        wish: NEAR_PLACES charges the distance to the nearest place, up to ``NEAR_NM``;
            CLEAR_OF_PLACES charges what is missing to ``CLEAR_NM``.
    """
    if not places_nm or wish not in (Wish.NEAR_PLACES, Wish.CLEAR_OF_PLACES):
        return None
    near = wish is Wish.NEAR_PLACES

    def cost(along_nm: int) -> int:
        away = min(abs(along_nm - place) for place in places_nm)
        return min(away, NEAR_NM) if near else max(0, CLEAR_NM - away)

    return cost


def _divisions(
    length_nm: int, faces_nm: tuple[int, int], system: RailingSystem, cost: PostCost | None
) -> Iterator[tuple[Division, ...]]:
    longest = min(system.max_span_nm, system.max_section_nm)
    least, glass = -(-length_nm // longest), system.infill
    most = least + length_nm // system.post_width_nm
    if isinstance(glass, Glass):
        most = length_nm // (system.post_width_nm + glass.min_width_nm) + 1
    none_yet = True
    for bays in range(least, min(most, MAX_BAYS) + 1):
        try:
            for marks in _marks(length_nm, faces_nm, bays, system):
                for divisions in _with_bays(length_nm, faces_nm, marks, system, cost):
                    none_yet = False
                    yield divisions
        except UnbuildableLayout:
            if none_yet:
                raise
            return  # bays have become too small for the infill, and more posts make them smaller
    if none_yet and isinstance(glass, Glass):
        raise no_panels(length_nm - sum(faces_nm), glass)
    if none_yet:
        raise UnbuildableLayout(
            f"no division of a run of {mm_of(length_nm):.1f} mm keeps every bay within "
            f"{mm_of(longest):.1f} mm",
            where=("system", "limits", "span"),
            advice="Raise the span or section limit, or use a smaller picket pitch.",
        )


def _marks(
    length_nm: int, faces_nm: tuple[int, int], bays: int, system: RailingSystem
) -> Iterator[tuple[int, ...]]:
    """Give post centres to try: evenly apart, then as stock widths of glass ask for."""
    yield (0, *accumulate(split_evenly(length_nm, bays)))
    if isinstance(system.infill, Glass) and system.infill.stock:
        marks = stock_marks(length_nm, faces_nm, bays, system, system.infill)
        if marks is not None:
            yield marks


def _with_bays(
    length_nm: int,
    faces_nm: tuple[int, int],
    marks: tuple[int, ...],
    system: RailingSystem,
    cost: PostCost | None,
) -> Iterator[tuple[Division, ...]]:
    """Divide at joins, then let every section take its best placement, its second best, ..."""
    half, bays = system.post_width_nm // 2, len(marks) - 1
    places = [*accumulate(_bays_per_section(length_nm, bays, system), initial=0)]
    ways: list[Iterator[Division]] = []
    for first, last in pairwise(places):
        start, end = marks[first], marks[last]
        faces = (faces_nm[0] if start == 0 else half, faces_nm[1] if end == length_nm else half)
        inside = marks[first : last + 1]
        ways.append(divide_section(start, end, faces, inside, system, cost))
    chosen: list[Division | None] = [None] * len(ways)
    for _ in range(PLACEMENTS):
        following = [next(way, None) for way in ways]
        if not any(following):
            return
        merged = [new or old for new, old in zip(following, chosen, strict=True)]
        if not all(merged):
            return
        chosen = merged
        yield tuple(division for division in chosen if division is not None)


def _bays_per_section(length_nm: int, bays: int, system: RailingSystem) -> tuple[int, ...]:
    if system.method is Method.BETWEEN_POSTS:
        return (1,) * bays
    most = max(1, system.max_section_nm * bays // length_nm)
    return spread(bays, -(-bays // most))

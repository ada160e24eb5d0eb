"""Support legs under the bottom rail: where they stand and how high they are.

A rail is held at the face of every post it meets, line posts that cut it included, and by each
leg. Legs stand in the middle between two pickets, clear of the pickets' fixing from below: common
practice, no source. On a stair they stand on treads, clear of the nosings.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise

from service.domain.layout.frame import Flight, Span
from service.domain.layout.records import Rake
from service.domain.layout.stairs import fall_nm, level_nm
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of, split_evenly
from service.domain.record import record


@record(frozen=True, slots=True)
class Legs:
    """Legs of a section: places from its start post's centre, heights, and a warning if any."""

    places_nm: tuple[int, ...] = ()
    heights_nm: tuple[int, ...] = ()
    note: str = ""


def legs_of(name: str, span: Span, system: RailingSystem) -> Legs:
    """Set the legs of a section, as few as the unsupported length allows, as even as can be.

    Args:
        name: The section, for the warning.
        span: Its posts, pickets and, on a stair, its flight.
        system: Gives the greatest unsupported length and the gap under the bottom rail.
    """
    if span.rake is None:
        places, short = _places(span, system, system.max_unsupported_nm)
        note = (
            f"{name}: no place between pickets keeps the bottom rail within "
            f"{mm_of(system.max_unsupported_nm):.0f} mm of its supports; some legs stand under "
            "pickets."
        )
        return Legs(places, (system.bottom_gap_nm,) * len(places), note if short else "")
    return _on_treads(name, span, span.rake, system)


def _places(span: Span, system: RailingSystem, limit_nm: int) -> tuple[tuple[int, ...], bool]:
    """Give the legs of every bay, and whether some had to stand under pickets."""
    pickets = span.division.pickets_nm
    middles = [(a + b) // 2 for a, b in pairwise(pickets)]
    places: list[int] = []
    short = False
    for left, right in _bays(span, system):
        if right - left <= limit_nm:
            continue
        free = middles[bisect_right(middles, left) : bisect_left(middles, right)]
        found = even_places(left, right, free, limit_nm) if pickets else None
        if found is None:
            parts = -(-(right - left) // limit_nm)
            shares = split_evenly(right - left, parts)[:-1]
            found = tuple(left + sum(shares[: i + 1]) for i in range(len(shares)))
            short = short or bool(pickets)
        places.extend(found)
    return tuple(places), short


def _bays(span: Span, system: RailingSystem) -> list[tuple[int, int]]:
    """Give where the bottom rail is free, from post face to post face. [nm]"""
    half = system.post_width_nm // 2
    length_nm = span.division.end_nm - span.division.start_nm
    lefts = [span.picket_faces_nm[0], *(post + half for post in span.division.line_posts_nm)]
    rights = [post - half for post in span.division.line_posts_nm]
    rights.append(length_nm - span.picket_faces_nm[1])
    return list(zip(lefts, rights, strict=True))


def even_places(
    left_nm: int, right_nm: int, free_nm: Sequence[int], limit_nm: int
) -> tuple[int, ...] | None:
    """Choose the fewest places that leave no more than a limit between supports.

    Each place is the one nearest to an even division that still lets the rest keep to the limit.

    Args:
        left_nm, right_nm: The supports at both ends. [nm]
        free_nm: Places a leg may take, in order. [nm]
        limit_nm: Greatest distance between neighbouring supports. [nm]

    Returns:
        The places in order, or None if they cannot be chosen from these.

    Example:
        >>> even_places(0, 100, [10, 30, 45, 60, 80], 40)
        (30, 60)
        >>> even_places(0, 100, [10, 60], 40) is None
        True
    """
    # Backwards: the nearest place from which the rest of the way can still be made.
    earliest: list[int] = []
    reached = right_nm
    while reached - left_nm > limit_nm:
        index = bisect_left(free_nm, reached - limit_nm)
        if index == len(free_nm) or free_nm[index] >= reached:
            return None
        reached = free_nm[index]
        earliest.append(reached)
    earliest.reverse()
    count = len(earliest)
    places: list[int] = []
    before = left_nm
    for number, first in enumerate(earliest, 1):
        ideal = left_nm + number * (right_nm - left_nm) // (count + 1)
        low = bisect_left(free_nm, max(first, before + 1))
        high = bisect_right(free_nm, before + limit_nm)
        outward = -1 if 2 * number > count + 1 else 1  # of two equally near, the outer one
        near = [(abs(place - ideal), outward * place) for place in free_nm[low:high]]
        before = outward * min(near)[1]
        places.append(before)
    return tuple(places)


def _on_treads(name: str, span: Span, rake: Rake, system: RailingSystem) -> Legs:
    """Set legs on treads: places square to the going, heights from the tread to the rail."""
    limit_nm = level_nm(rake, system.max_unsupported_nm)
    left, right = _bays(span, system)[0]
    flight = span.flight
    if right - left <= limit_nm or flight is None:
        return Legs()
    half = system.bottom_rail.width_nm // 2
    pickets = span.division.pickets_nm
    middles = [(a + b) // 2 for a, b in pairwise(pickets)]
    if not pickets:
        middles = [
            step * flight.unit_run_nm - flight.unit_run_nm // 2 - flight.start_nm
            for step in range(1, flight.treads + 1)
        ]
    free = [x for x in middles if left < x < right and _stands(x + flight.start_nm, flight, half)]
    found = even_places(left, right, free, limit_nm)
    if found is None:
        return Legs(
            note=f"{name}: no treads lie where legs keep the bottom rail within "
            f"{mm_of(system.max_unsupported_nm):.0f} mm of its supports. Stiffen the rail, or add "
            "a post."
        )
    heights = tuple(
        system.stair_bottom_gap_nm + _above_tread_nm(x + flight.start_nm, flight, rake)
        for x in found
    )
    return Legs(found, heights)


def _stands(x_nm: int, flight: Flight, half_nm: int) -> bool:
    """Tell whether a foot stands whole on a tread, clear of its nosing and of the one above."""
    tread = -(-x_nm // flight.unit_run_nm)
    on_tread = x_nm - (tread - 1) * flight.unit_run_nm
    clear = half_nm <= on_tread <= flight.unit_run_nm - half_nm
    return 1 <= tread <= flight.treads and clear


def _above_tread_nm(x_nm: int, flight: Flight, rake: Rake) -> int:
    """Give the height of the nosing line above the tread at a place."""
    tread = -(-x_nm // flight.unit_run_nm)
    return fall_nm(rake, tread * flight.unit_run_nm - x_nm)

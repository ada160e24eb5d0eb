"""Corners set one after the other, each from two corners that stand (trilateration).

Source: the intersection of two circles; a figure taped this way is fixed once every corner has
two tapes to corners that stand, as the sides and one diagonal fix a quadrilateral (Encyclopaedia
Britannica, "Surveying").
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

Spot = tuple[float, float]
Links = Mapping[int, Mapping[int, float]]

# Where the two places a corner may have differ by less than this in how further tapes fit, those
# tapes do not tell which one is right. [mm]
TELLING_MM = 12.7
# Tapes of a corner that are tried for setting it; the adjustment uses all.
MOST_TRIED = 10


@dataclass(frozen=True, slots=True)
class Setting:
    """A corner set from two others.

    Attributes:
        sine: Of the angle at which the two tapes meet there; 0 where they do not.
        short_mm: What the three tapes lack for a triangle. [mm]
        on: The two corners it was set from.
    """

    at: Spot
    sine: float
    short_mm: float
    on: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Placing:
    """The corners that could be set, with how each was set; a base of two has no setting."""

    spots: Mapping[int, Spot]
    settings: Mapping[int, Setting]


def place_corners(count: int, links: Links) -> Placing:
    """Set as many corners as the tapes allow, from whichever tape as a base does best.

    Args:
        count: How many corners there are, numbered anticlockwise.
        links: By corner, its tapes to others. [mm]
    """
    grown: list[Placing] = []
    for one in sorted(links):
        for other in sorted(links[one]):
            # No corner beyond what has grown once is within reach of two corners of it.
            known = any(one in p.spots and other in p.spots for p in grown)
            if one < other and not known:
                grown.append(_grow(count, links, (one, other)))
                if len(grown[-1].spots) == count:
                    return grown[-1]
    return max(grown, key=lambda placing: len(placing.spots), default=Placing({}, {}))


def missing_tapes(count: int, links: Links) -> tuple[tuple[int, int], ...]:
    """Say which further tapes would let every corner be set, by the corners they join."""
    reach = {corner: set(links.get(corner, {})) for corner in range(count)}
    missing = []
    placed = set(place_corners(count, links).spots) or {0, 1}
    while len(placed) < count:
        corner = max(
            (c for c in range(count) if c not in placed),
            key=lambda c: (len(reach[c] & placed), -c),
        )
        wanted = sorted(placed - reach[corner], key=lambda p: (_apart(p, corner, count), p))
        for other in wanted[: 2 - len(reach[corner] & placed)]:
            missing.append((min(corner, other), max(corner, other)))
            reach[corner].add(other)
            reach[other].add(corner)
        placed.add(corner)
        _close(placed, reach)
    return tuple(missing)


def _apart(one: int, other: int, count: int) -> int:
    return min((one - other) % count, (other - one) % count)


def _close(placed: set[int], reach: Mapping[int, set[int]]) -> None:
    growing = True
    while growing:
        found = {c for c in reach if c not in placed and len(reach[c] & placed) >= 2}
        placed |= found
        growing = bool(found)


def _grow(count: int, links: Links, base: tuple[int, int]) -> Placing:
    """Set corners from a base, each time the one whose two tapes meet best."""
    spots: dict[int, Spot] = {base[0]: (0.0, 0.0), base[1]: (links[base[0]][base[1]], 0.0)}
    settings: dict[int, Setting] = {}
    ready: dict[int, Setting] = {}
    fresh = list(base)
    while True:
        for corner in {c for place in fresh for c in links[place] if c not in spots}:
            choices = list(_settings(corner, links[corner], spots, count))
            if choices:
                ready[corner] = max(choices, key=lambda s: (s.sine, -s.short_mm, s.on))
        if not ready:
            return Placing(spots, settings)
        corner = max(ready, key=lambda c: (ready[c].sine, -ready[c].short_mm, -c))
        settings[corner] = ready.pop(corner)
        spots[corner] = settings[corner].at
        fresh = [corner]


def _settings(
    corner: int, tapes: Mapping[int, float], spots: Mapping[int, Spot], count: int
) -> Iterator[Setting]:
    standing = sorted(other for other in tapes if other in spots)[:MOST_TRIED]
    for a, b in combinations(standing, 2):
        base = math.dist(spots[a], spots[b])
        if base > 0:
            others = {c: tapes[c] for c in standing if c not in (a, b)}
            yield _setting(corner, (a, b), tapes, spots, others)


def _setting(
    corner: int,
    on: tuple[int, int],
    tapes: Mapping[int, float],
    spots: Mapping[int, Spot],
    others: Mapping[int, float],
) -> Setting:
    """Set a corner from two others, on the side that keeps the three anticlockwise.

    That holds for every tape across the deck, since the triangles between such tapes lie inside.
    Further tapes that clearly fit the other side decide for it.
    """
    (ax, ay), (bx, by) = spots[on[0]], spots[on[1]]
    base = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / base, (by - ay) / base
    along = (base * base + tapes[on[0]] ** 2 - tapes[on[1]] ** 2) / (2 * base)
    square = tapes[on[0]] ** 2 - along * along
    off = math.sqrt(max(0.0, square))
    left = 1.0 if not on[0] < corner < on[1] else -1.0
    places = [
        (ax + along * ux - side * off * uy, ay + along * uy + side * off * ux)
        for side in (left, -left)
    ]
    misfits = [
        sum(abs(math.dist(place, spots[c]) - length) for c, length in others.items())
        for place in places
    ]
    at = places[1] if misfits[0] - misfits[1] > TELLING_MM else places[0]
    one, other = tapes[on[0]], tapes[on[1]]
    short = max(base - one - other, abs(one - other) - base, 0.0)
    return Setting(at, base * off / (one * other), short, on)

"""Bounds on one job, far above any deck; they keep one request from taking the machine."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.errors import TooLarge, Where
from service.domain.layout.deck import Deck, Level, Stair
from service.domain.layout.system import Cables, Glass, RailingSystem

MOST_PICKETS = 100_000
MOST_POSTS = 20_000
MOST_ROWS = 200
MOST_FRAMED_POSTS = 2_000
MOST_SUPPORTS = 20_000


@dataclass(frozen=True, slots=True)
class Estimate:
    """About how many of a thing a job takes, and the most that are laid out.

    Attributes:
        where: Member of the request that decides; the deck where several do.
    """

    count: int
    most: int
    thing: str
    where: Where = ("deck",)


def refuse_oversize(deck: Deck, system: RailingSystem) -> None:
    """Refuse a job whose members could not be listed in one answer.

    The counts are estimated from the length of edges and stairs before anything is allocated.

    Raises:
        TooLarge: More than ``MOST_POSTS`` posts (fewer over framing, whose timber is checked),
            ``MOST_PICKETS`` pickets, panels, cables or infill rails, ``MOST_ROWS`` of these above
            each other, or ``MOST_SUPPORTS`` legs, spreaders, brackets or pieces of handrail.
    """
    stairs_nm = sum(_stair_nm(stair) for stair in deck.stairs)
    reach_nm = sum(_perimeter_nm(level) for level in deck.levels) + stairs_nm
    posts = reach_nm // system.max_span_nm
    most_posts = MOST_FRAMED_POSTS if any(level.framing for level in deck.levels) else MOST_POSTS
    for estimate in (
        Estimate(posts, most_posts, "posts"),
        *_infill(system, reach_nm, posts),
        *_supports(system, reach_nm, stairs_nm),
    ):
        if estimate.count > estimate.most:
            raise TooLarge(
                f"This deck would need about {estimate.count:,} {estimate.thing}; at most "
                f"{estimate.most:,} are laid out.",
                where=estimate.where,
                advice="Check the units of lengths and limits, or split the job into several.",
            )


def _infill(system: RailingSystem, reach_nm: int, bays: int) -> Iterator[Estimate]:
    pickets, infill = system.pickets, system.infill
    if isinstance(infill, Glass):
        yield Estimate(reach_nm // infill.min_width_nm, MOST_PICKETS, "panels")
    elif infill is None:
        pitch_nm = pickets.pitch_nm or pickets.width_nm + pickets.max_gap_nm
        yield Estimate(reach_nm // pitch_nm, MOST_PICKETS, "pickets")
    else:
        word = "cables" if isinstance(infill, Cables) else "infill rails"
        size, give = (
            (infill.diameter_nm, infill.deflection_nm)
            if isinstance(infill, Cables)
            else (infill.depth_nm, 0)
        )
        height_nm = max(system.guard_height_nm, system.stair_guard_height_nm)
        rows = height_nm // (size + infill.max_gap_nm - give)
        yield Estimate(rows, MOST_ROWS, f"{word} above each other")
        yield Estimate(rows * bays, MOST_PICKETS, f"{word} in its bays")


def _supports(system: RailingSystem, reach_nm: int, stairs_nm: int) -> Iterator[Estimate]:
    legs, infill, handrail = reach_nm // system.max_unsupported_nm, system.infill, system.handrail
    yield Estimate(legs, MOST_SUPPORTS, "support legs", ("system", "limits", "unsupported"))
    if isinstance(infill, Cables):
        spreaders = reach_nm // infill.max_support_nm
        where = ("system", "cables", "max_support")
        yield Estimate(spreaders, MOST_SUPPORTS, "spreaders", where)
    if handrail is not None:
        brackets = stairs_nm // handrail.bracket_spacing_nm
        where = ("system", "handrail", "bracket_spacing")
        yield Estimate(brackets, MOST_SUPPORTS, "handrail brackets", where)
        pieces = stairs_nm // handrail.longest_nm
        where = ("system", "handrail", "longest")
        yield Estimate(pieces, MOST_SUPPORTS, "pieces of handrail", where)


def _perimeter_nm(level: Level) -> int:
    corners = level.outline
    return sum(
        math.isqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    )


def _stair_nm(stair: Stair) -> int:
    """Give both sides of a stair, never less than along the slope, and round its landings. [nm]"""
    flights_nm = 2 * (stair.risers * stair.unit_run_nm + stair.total_rise_nm)
    return flights_nm + sum(
        2 * (landing.length_nm + 2 * stair.width_nm + landing.gap_nm) for landing in stair.landings
    )

"""How blocking is made up: the fewest plies that give every fastener its edge distance."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.layout.joists import HAIR


@dataclass(frozen=True, slots=True)
class Row:
    """A fastener as a ply sees it, across the ply's thickness. [mm]

    Attributes:
        at: Its place.
        low, high: Between which the centre of a ply may lie so that the rim leaves the ply whole.
    """

    at: float
    low: float
    high: float


def place_plies(rows: Sequence[Row], thickness: float, edge: float) -> tuple[float, ...] | None:
    """Place the fewest plies side by side so that each fastener is well inside one of them.

    Plies may stand apart but do not overlap. Packing them from one side, each as far back as it
    goes, leaves the most room for the rest; afterwards each one moves as near to the middle of
    its fasteners as its neighbours let it.

    Args:
        rows: Fasteners in any order, at least one.
        thickness: Of one ply. [mm]
        edge: Least from a fastener to either side of its ply. [mm]

    Returns:
        Centres of the plies in order, or None if no arrangement holds every fastener. [mm]

    Example:
        >>> rows = [Row(at, -1000.0, 1000.0) for at in (54.0, -54.0, 54.0)]
        >>> place_plies(rows, 38.0, 14.0)
        (-54.0, 54.0)
        >>> place_plies(rows, 38.0, 20.0) is None
        True
    """
    rows = sorted(rows, key=lambda row: row.at)
    slack = thickness / 2 - edge
    if slack < -HAIR:
        return None
    # packed[j][n]: centres of n plies that hold the first j fasteners, packed farthest back.
    packed: list[dict[int, tuple[float, ...]]] = [{0: ()}]
    for end in range(1, len(rows) + 1):
        best: dict[int, tuple[float, ...]] = {}
        for start in range(end):
            low, high = _between(rows[start:end], slack)
            for count, before in packed[start].items():
                centre = max(low, before[-1] + thickness) if before else low
                known = best.get(count + 1)
                if centre <= high + HAIR and (known is None or centre < known[-1]):
                    best[count + 1] = (*before, centre)
        packed.append(best)
    found = packed[-1]
    return _centred(found[min(found)], rows, thickness, slack) if found else None


def _between(rows: Sequence[Row], slack: float) -> tuple[float, float]:
    """Give where the centre of a ply that holds some fasteners may lie."""
    return (
        max(rows[-1].at - slack, *(row.low for row in rows)),
        min(rows[0].at + slack, *(row.high for row in rows)),
    )


def _centred(
    plies: tuple[float, ...], rows: Sequence[Row], thickness: float, slack: float
) -> tuple[float, ...]:
    moved: list[float] = []
    limit = float("inf")
    for centre in reversed(plies):
        held = [row for row in rows if abs(row.at - centre) <= slack + 2 * HAIR]
        _, high = _between(held, slack)
        centre = max(centre, min((held[0].at + held[-1].at) / 2, high, limit - thickness))
        moved.append(centre)
        limit = centre
    return tuple(reversed(moved))

"""Redundant tapes adjusted by least squares, every tape as good as the other.

Source: parametric adjustment of distances by Gauss-Newton, with the redundancy number of an
observation 1 - h (h the diagonal of the hat matrix) and its standardised residual v / sqrt(1 - h)
(Baarda's data snooping, as survey adjustment texts have it; from memory, no page at hand).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Spot = tuple[float, float]
Pair = tuple[int, int]

STEPS = 60
SETTLED_MM = 1e-9
# A tape with less redundancy than this is checked by no other one.
UNCHECKED = 1e-6


class NotSettled(ValueError):
    """The corners do not come to rest: the tapes describe no figure near the one they began at."""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """Corners that fit all tapes best.

    Attributes:
        spots: (n, 2) corners, the first at the origin, the second on the x axis. [mm]
        residuals_mm: (m,) taped minus adjusted. [mm]
        redundancies: (m,) from 0, where no other tape checks it, to 1.
        weakness: (n,) how far an error of one in every tape moves a corner, about (one standard
            error in the corner's worst direction, the figure as a whole at rest); infinite where
            nothing holds it.
        weak_towards: (n, 2) unit vector of that direction.
    """

    spots: tuple[Spot, ...]
    residuals_mm: tuple[float, ...]
    redundancies: tuple[float, ...]
    weakness: tuple[float, ...]
    weak_towards: tuple[Spot, ...]


def adjust(spots: Sequence[Spot], pairs: Sequence[Pair], lengths: Sequence[float]) -> Adjustment:
    """Move corners until the squares of the tapes' residuals add up to the least.

    Args:
        spots: (n, 2) where the corners stand about. [mm]
        pairs: (m, 2) corners that each tape joins.
        lengths: (m,) taped. [mm]

    Raises:
        NotSettled: The corners do not come to rest.
    """
    import numpy as np  # it takes longer to load than a deck to lay out

    at = np.array(spots, dtype=float)
    one, other = np.array([a for a, _ in pairs]), np.array([b for _, b in pairs])
    taped, before = np.array(lengths), math.inf
    for _ in range(STEPS):
        slopes, misfit = _linearised(at, one, other, taped)
        # The shortest step moves and turns the figure as a whole as little as may be.
        step = np.linalg.lstsq(slopes, misfit, rcond=1e-12)[0]
        at += step.reshape(at.shape)
        size = float(np.abs(step).max())
        if size < SETTLED_MM or (size < 1e-6 and size >= before):
            break
        before = size
    else:
        raise NotSettled("the corners do not come to rest")
    at = _levelled(at)
    return _judged(at, *_linearised(at, one, other, taped))


def _levelled(at: "Floats") -> "Floats":
    """Move the first corner to the origin and turn the second one onto the x axis."""
    import numpy as np

    moved = at - at[0]
    length = math.hypot(*moved[1])
    c, s = moved[1] / length
    turned: Floats = moved @ np.array([[c, -s], [s, c]])
    return turned


def _linearised(
    at: "Floats", one: "NDArray[np.int64]", other: "NDArray[np.int64]", taped: "Floats"
) -> tuple["Floats", "Floats"]:
    import numpy as np

    apart = at[one] - at[other]
    lengths = np.hypot(apart[:, 0], apart[:, 1])
    towards = apart / np.maximum(lengths, 1e-9)[:, None]
    slopes, rows = np.zeros((len(taped), at.size)), np.arange(len(taped))
    for axis in (0, 1):
        slopes[rows, 2 * one + axis] = towards[:, axis]
        slopes[rows, 2 * other + axis] = -towards[:, axis]
    return slopes, taped - lengths


def _judged(at: "Floats", slopes: "Floats", misfit: "Floats") -> Adjustment:
    import numpy as np

    u, sizes, vt = np.linalg.svd(slopes, full_matrices=False)
    shape = at.size - 3  # whatever the tapes, the figure moves and turns as a whole
    u, sizes, vt = u[:, :shape], sizes[:shape], vt[:shape]
    held = sizes > 1e-9 * sizes[0]
    redundancies = 1.0 - (u[:, held] ** 2).sum(axis=1)
    moves = np.where(held, 1.0 / np.where(held, sizes, 1.0), 1e9)[:, None] * vt
    weakness, towards = [], []
    for corner in range(len(at)):
        own = moves[:, 2 * corner : 2 * corner + 2]
        spread, axes = np.linalg.svd(own, full_matrices=False)[1:]
        weakness.append(float(spread[0]) if spread[0] < 1e6 else math.inf)
        towards.append((float(axes[0][0]), float(axes[0][1])))
    return Adjustment(
        spots=tuple((float(x), float(y)) for x, y in at),
        residuals_mm=tuple(float(v) for v in misfit),
        redundancies=tuple(float(r) for r in redundancies),
        weakness=tuple(weakness),
        weak_towards=tuple(towards),
    )

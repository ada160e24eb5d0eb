"""Tension in the fasteners of a plate under a post, and bearing of the plate on its timber.

Units: N, mm, MPa, N mm.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

ANCHOR_FACTOR = 1.65  # on the edge formula, US Army Corps of Engineers ETL 1110-2-534, Appendix A


@dataclass(frozen=True, slots=True)
class Grip:
    """The fasteners that hold a plate down when the post is pushed one way.

    Attributes:
        count: How many lie in the row farthest from the compressed edge.
        arm_mm: From that row to the compressed edge. [mm]
        across_mm: Length of the compressed edge. [mm]
    """

    count: int
    arm_mm: float
    across_mm: float


@dataclass(frozen=True, slots=True)
class Block:
    """Compression under a plate as a rectangular block.

    Attributes:
        bearing: Share of the greatest moment that the timber can balance; over 1 there is no
            balance and the rest is None.
        depth_mm: Depth of the block. [mm]
        tension_n: In all fasteners of the row together, equal to the compression. [N]
    """

    bearing: float
    depth_mm: float | None
    tension_n: float | None


def grips(
    width_mm: float, depth_mm: float, holes_mm: Iterable[tuple[float, float]]
) -> tuple[Grip, ...]:
    """Give the rows that hold a plate pushed outward, inward, and along the guard either way.

    Rows nearer to the compressed edge are left out, which is conservative.

    Args:
        width_mm: Of the plate, along the guard. [mm]
        depth_mm: Of the plate, square to the guard. [mm]
        holes_mm: (n, 2) from the post's centre: along the guard, and inward. [mm]

    Example:
        >>> grips(5, 5, [(-1.75, -1.75), (1.75, -1.75), (-1.75, 1.75), (1.75, 1.75)])[0]
        Grip(count=2, arm_mm=4.25, across_mm=5)
    """
    holes = tuple(holes_mm)
    inward = [hole[1] for hole in holes]
    along = [hole[0] for hole in holes]
    return (
        _grip(inward, depth_mm, width_mm),
        _grip([-place for place in inward], depth_mm, width_mm),
        _grip(along, width_mm, depth_mm),
        _grip([-place for place in along], width_mm, depth_mm),
    )


def _grip(places: list[float], size_mm: float, across_mm: float) -> Grip:
    farthest = max(places)
    count = sum(1 for place in places if farthest - place < 1e-6)
    return Grip(count, size_mm / 2 + farthest, across_mm)


def compression_block(moment_n_mm: float, across_mm: float, arm_mm: float, f_c_mpa: float) -> Block:
    """Balance a moment by a rectangular block of timber stress under the edge of a rigid plate.

    f B a (d - a/2) = M, so a = d - sqrt(d^2 - 2 M / (f B)) and N = f B a; without axial load.

    Args:
        moment_n_mm: At the foot of the post. [N mm]
        across_mm: Length of the compressed edge, B. [mm]
        arm_mm: From the fasteners in tension to that edge, d. [mm]
        f_c_mpa: Bearing strength of the timber, adjusted. [MPa]

    Example:
        >>> block = compression_block(7200, 5, 4.25, 284.75)  # lb and in serve as well
        >>> round(block.depth_mm, 4), round(block.tension_n / 2, 1)
        (1.4307, 1018.5)
    """
    bearing = 2 * moment_n_mm / (f_c_mpa * across_mm * arm_mm**2)
    if bearing > 1:
        return Block(bearing, None, None)
    depth = arm_mm - math.sqrt(arm_mm**2 - 2 * moment_n_mm / (f_c_mpa * across_mm))
    return Block(bearing, depth, f_c_mpa * across_mm * depth)


def edge_tension_n(moment_n_mm: float, arm_mm: float, count: int = 1) -> float:
    """Give the tension per fastener if the plate tipped over its very edge, M / (n d). [N]

    On the unsafe side on timber, which is crushed there; times ``ANCHOR_FACTOR`` for anchors.

    Source: US Army Corps of Engineers ETL 1110-2-534 (30 September 1994), Appendix A.
    """
    return moment_n_mm / (count * arm_mm)


def hole_spacing_mm(holes_mm: Iterable[tuple[float, float]]) -> float | None:
    """Give the least distance between two holes, None with fewer than two. [mm]"""
    holes = tuple(holes_mm)
    distances = [
        math.dist(one, other) for index, one in enumerate(holes) for other in holes[index + 1 :]
    ]
    return min(distances, default=None)

"""Drawing scales, and the way from real nanometres to paper millimetres.

Source: the metric ratios are those of ISO 5455:1979 (from memory) with 1:25 and 1:250, which
building drawings use beside them; the imperial ones are the customary architect's scales.
"""

from collections.abc import Callable
from dataclasses import dataclass

from service.adapters.documents.primitives import PaperPoint
from service.domain.layout.deck import Point
from service.domain.lengths import FOOT, METRE, MILLIMETRE

Printed = Callable[[int], str]


@dataclass(frozen=True, slots=True)
class Scale:
    """A drawing scale: one paper millimetre stands for ``ratio`` real ones."""

    ratio: float
    text: str

    def paper(self, length_nm: float) -> float:
        """Give a real length on paper. [mm]"""
        return length_nm / (MILLIMETRE * self.ratio)


METRIC = tuple(
    Scale(ratio, f"1:{ratio}")
    for ratio in (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000, 10000)
)
IMPERIAL = tuple(
    Scale(ratio, f"{size} = 1'-0\" (1:{ratio})")
    for ratio, size in (
        (12, '1"'),
        (16, '3/4"'),
        (24, '1/2"'),
        (32, '3/8"'),
        (48, '1/4"'),
        (64, '3/16"'),
        (96, '1/8"'),
        (128, '3/32"'),
        (192, '1/16"'),
        (384, '1/32"'),
        (768, '1/64"'),
    )
) + tuple(Scale(12 * feet, f"1\" = {feet}' (1:{12 * feet})") for feet in (100, 200, 500, 1000))


def standard_scales(units: str) -> tuple[Scale, ...]:
    """Give the scales of a system of units, the largest picture first."""
    return METRIC if units == "metric" else IMPERIAL


def largest_scale(units: str, fits: Callable[[Scale], bool], largest: int = 1) -> Scale:
    """Give the largest standard scale of at least 1:``largest`` whose picture fits the paper."""
    scales = [scale for scale in standard_scales(units) if scale.ratio >= largest]
    return next((scale for scale in scales if fits(scale)), scales[-1])


def bar_steps(scale: Scale, units: str, longest: float) -> tuple[int, tuple[str, ...]]:
    """Give the length of one part of a scale bar and the figures at its marks. [nm]"""
    unit_nm, sign = (METRE, " m") if units == "metric" else (FOOT, "'")
    sizes = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]
    fitting = [size for size in sizes if scale.paper(4 * size * unit_nm) <= longest]
    size = fitting[-1] if fitting else 1
    return size * unit_nm, tuple(f"{i * size}{sign if i == 4 else ''}" for i in range(5))


@dataclass(frozen=True, slots=True)
class View:
    """Places plan or elevation coordinates on paper; up in the world is up on paper."""

    scale: Scale

    def at(self, point: Point | tuple[float, float]) -> PaperPoint:
        """Give the place on paper of a point in nanometres. [mm]"""
        return (self.scale.paper(point[0]), -self.scale.paper(point[1]))

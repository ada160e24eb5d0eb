"""The stepped profile of a flight in elevation, in true rake, going down to the right."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from service.adapters.documents.labels import SMALL
from service.adapters.documents.primitives import (
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Shape,
    Text,
)
from service.adapters.documents.scales import View
from service.domain.layout.deck import Stair
from service.domain.layout.records import Rake
from service.domain.lengths import MILLIMETRE

_DEEPEST_NOSING = 25 * MILLIMETRE  # drawn thickness of a tread's nose; common practice, no source


@dataclass(frozen=True, slots=True)
class FlightProfile:
    """A flight on paper. Heights are from the surface it leaves, places from the picture's start.

    Attributes:
        stair: As taped, None if the layout does not tell.
        going_nm: How far before the top nosing the picture's start lies; negative behind. [nm]
    """

    view: View
    stair: Stair | None
    rake: Rake
    going_nm: float

    @property
    def slope(self) -> float:
        """Rise over run."""
        return self.rake.rise_nm / self.rake.run_nm

    @property
    def cosine(self) -> float:
        """Cosine of the rake."""
        return math.cos(math.atan(self.slope))

    def nosing_nm(self, x_nm: float) -> float:
        """Height of the nosing line at a distance from the start. [nm]"""
        return -(self.going_nm + x_nm) * self.slope

    def over(self, x_nm: float, height_nm: float) -> PaperPoint:
        """Give the place on paper of a height above the nosing line. [nm]"""
        return self.view.at((x_nm, self.nosing_nm(x_nm) + height_nm))

    def sloped(self, x1: float, x2: float, low: float, high: float, layer: Layer) -> Polyline:
        """Draw a plumb-ended strip between two heights above the nosing line. [nm]"""
        corners = ((x1, low), (x2, low), (x2, high), (x1, high))
        points = tuple(self.over(x, z) for x, z in corners)
        return Polyline(points, layer, closed=True, blank=True)

    def on_paper(self, paper_mm: float) -> float:
        """Give the real length of a distance on paper. [nm]"""
        return paper_mm * MILLIMETRE * self.view.scale.ratio


def steps(profile: FlightProfile, last_nm: float) -> Iterator[Shape]:
    """Draw the flight, from its level down to the surface below.

    Args:
        profile: The flight.
        last_nm: Where the last thing that stands on the lower surface is. [nm]
    """
    stair = profile.stair
    if stair is None:
        return
    nose = stair.nosing_nm
    depth = min(_DEEPEST_NOSING, stair.unit_rise_nm // 4)
    reach = profile.on_paper(9.0)
    top = -profile.going_nm
    points: list[tuple[float, float]] = [(min(-reach, top - reach), 0.0), (top, 0.0)]
    for i in range(1, stair.risers + 1):
        x = top + (i - 1) * stair.unit_run_nm
        above = -stair.total_rise_nm * (i - 1) / stair.risers
        under = -stair.total_rise_nm * i / stair.risers
        if nose:
            points += [(x, above - depth), (x - nose, above - depth)]
        points.append((x - nose, under))
        end = x + stair.unit_run_nm
        points.append((max(end, last_nm + reach) if i == stair.risers else end, under))
    yield Polyline(tuple(map(profile.view.at, points)), Layer.STAIR)


def nosing_line(profile: FlightProfile) -> Iterator[Shape]:
    """Draw the line through the nosings, from before the top one to the lower surface."""
    start, end = -profile.going_nm, -profile.going_nm + profile.rake.run_nm
    start = min(start, -profile.on_paper(12.0))
    yield Line(profile.over(start, 0), profile.over(end, 0), Layer.NOSING)


def rake_mark(profile: FlightProfile) -> Iterator[Shape]:
    """Letter the rake where the nosing line meets the lower surface."""
    x, y = profile.over(-profile.going_nm + profile.rake.run_nm, 0)
    radius = 8.0
    turn = math.radians(profile.rake.angle_deg)
    arc = tuple(
        (x - radius * math.cos(turn * i / 6), y - radius * math.sin(turn * i / 6)) for i in range(7)
    )
    yield Polyline(arc, Layer.DIMENSION)
    yield Text((x + 1.5, y - 1.2), f"{profile.rake.angle_deg:.1f}°", SMALL, boxed=True)

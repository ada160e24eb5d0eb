"""The dimension rows under an elevation."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from service.adapters.documents.elevation_facts import picket_spacing
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.labels import SMALL, chain
from service.adapters.documents.primitives import (
    Anchor,
    Dimension,
    Shape,
    Text,
)

ROW = 6.5  # distance of dimension rows on paper


@dataclass(frozen=True, slots=True)
class _Rows:
    """Dimension rows under a picture: from the feet at ``foot``, counted down from ``below``."""

    elevation: Elevation
    below: float
    foot: float

    def x(self, at_nm: float) -> float:
        return self.elevation.view.at((at_nm, 0))[0]

    def span(
        self, start_nm: float, end_nm: float, drop: float, text: str, outside: str | None = None
    ) -> Dimension:
        """Dimension between two places; text that has no room goes past the end."""
        start, end = (self.x(start_nm), self.foot), (self.x(end_nm), self.foot)
        room = self.x(end_nm) - self.x(start_nm)
        if outside is None and Text((0.0, 0.0), text, SMALL).width > room - 1.0:
            outside = "end"
        return Dimension(start, end, self.below - self.foot + drop, text, SMALL, 0, outside)


def rows_below(elevation: Elevation, below: float, foot: float) -> Iterator[Shape]:
    """Dimension the bays, the clear length and the end gaps in rows under the picture."""
    rows = _Rows(elevation, below, foot)
    section, printed = elevation.section, elevation.printed
    places = [at for _, at in elevation.post_places()]
    texts = [printed(b - a) for a, b in itertools.pairwise(places)]
    whole = f"{printed(section.length_nm)} c-c"
    if len(texts) == 1:
        yield rows.span(0, section.length_nm, 3 * ROW, whole)
    else:
        bays = chain([(rows.x(x), foot) for x in places], texts, below - foot + 3 * ROW)
        lifted = max(bay.lift for bay in bays) * SMALL * 1.35
        yield rows.span(0, section.length_nm, 4 * ROW + lifted, whole)
        yield from bays
    clear = f"clear {printed(section.clear_nm)}"
    yield rows.span(*elevation.faces(), 2 * ROW, clear)
    yield from _end_gaps(rows, *elevation.faces())


def _end_gaps(rows: _Rows, start_face: float, end_face: float) -> Iterator[Shape]:
    """Dimension both end gaps, with the pickets' count and pitch between if there is room."""
    section = rows.elevation.section
    row = section.pickets
    centres = sorted([*row.centres_nm, *row.removed_nm])
    if not centres:
        return
    first, last = centres[0] - row.width_nm / 2, centres[-1] + row.width_nm / 2
    start_gap, end_gap = (rows.elevation.printed(gap) for gap in row.end_gaps_nm)
    yield rows.span(start_face, first, ROW, start_gap, "start")
    yield rows.span(last, end_face, ROW, end_gap, "end")
    middle = (rows.x((first + last) / 2), rows.below + ROW - 0.35 * SMALL)
    text = Text(middle, picket_spacing(rows.elevation), SMALL, Anchor.MIDDLE, boxed=True)
    if text.width + 3.0 < rows.x(last) - rows.x(first):
        yield text

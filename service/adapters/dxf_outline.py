"""Outlines from DXF drawings: one closed polyline, in the drawing's own unit.

Source: Autodesk DXF reference: LWPOLYLINE and POLYLINE (group codes 70 and 42), the header
variable $INSUNITS, and the bulge of a segment, tan of a quarter of its arc's angle, positive
where the arc runs anticlockwise.
"""

import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

from service.domain.errors import InvalidGeometry, Where
from service.domain.layout.survey_records import DrawnOutline
from service.domain.lengths import mm_of, snap_mm
from service.quantities import UnreadableLength, length_of

if TYPE_CHECKING:
    from ezdxf.document import Drawing

MOST_ENTITIES = 5_000
MOST_VERTICES = 200
# Values of $INSUNITS that a length of a request can have; others are refused by number.
DRAWN_UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 10: "yd"}
# A bulge below this is a straight line: over a mile it rises less than a nanometre.
STRAIGHT_BULGE = 1e-12

Corner = tuple[float, float, float]


class _Refused(ValueError):
    """What is wrong with a drawing, and what to do."""

    def __init__(self, detail: str, advice: str, member: str = "dxf") -> None:
        super().__init__(detail)
        self.detail, self.advice, self.member = detail, advice, member


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A closed polyline: x, y and bulge of the segment that follows, in drawing units."""

    layer: str
    corners: tuple[Corner, ...]


def read_outline(text: str, *, layer: str, unit: str, where: Where) -> DrawnOutline:
    """Give the corners and arcs of a drawing's closed polyline; see ``ports.OutlineReader``."""
    try:
        polylines, insunits = _parsed(text)
        return _measured(_chosen(polylines, layer), _unit(insunits, unit))
    except _Refused as refused:
        raise InvalidGeometry(
            refused.detail, where=(*where, refused.member), advice=refused.advice
        ) from None


def _parsed(text: str) -> tuple[list[_Drawn], int]:
    """Give the closed polylines of a drawing and the number of its unit."""
    from ezdxf.filemanagement import read  # half a second to load, for few requests

    try:
        drawing = read(io.StringIO(text))
        return list(_closed(drawing)), int(drawing.header.get("$INSUNITS", 0) or 0)
    except _Refused:
        raise
    except Exception as reason:  # a broken or hostile file fails anywhere inside the reader
        raise _Refused(
            f"the drawing cannot be read: {_shown(reason)}",
            "Save it as an ASCII DXF file (R12 or later) and send the file's text.",
        ) from reason


def _shown(reason: Exception) -> str:
    words = "".join(c if c.isprintable() else " " for c in str(reason))[:120].strip()
    return words or type(reason).__name__


def _closed(drawing: "Drawing") -> Iterator[_Drawn]:
    entities = list(islice(drawing.modelspace(), MOST_ENTITIES + 1))
    if len(entities) > MOST_ENTITIES:
        raise _Refused(
            f"the drawing has more than {MOST_ENTITIES:,} entities",
            "Save only the outline's layer to a file of its own.",
        )
    for entity in entities:
        if entity.dxftype() in ("LWPOLYLINE", "POLYLINE"):
            drawn = _polyline(entity)
            if drawn is not None:
                yield drawn


def _polyline(entity: Any) -> _Drawn | None:
    """Give a closed polyline drawn in plan, None for any other one."""
    flat = entity.dxftype() == "LWPOLYLINE"
    if not flat and not entity.is_2d_polyline:
        return None
    upright = tuple(entity.dxf.extrusion)
    if upright not in ((0.0, 0.0, 1.0), (0.0, 0.0, -1.0)):
        return None
    if flat:
        corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
    else:
        corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in entity.vertices]
    if len(corners) > 1 and corners[0][:2] == corners[-1][:2]:
        corners = corners[:-1]
    elif not (entity.closed if flat else entity.is_closed):
        return None
    if upright[2] < 0:  # drawn from below: its x axis runs the other way
        corners = [(-x, y, -bulge) for x, y, bulge in corners]
    return _Drawn(str(entity.dxf.layer), tuple(corners))


def _chosen(drawn: Sequence[_Drawn], layer: str) -> _Drawn:
    layers = sorted({one.layer for one in drawn})
    listed = ", ".join(layers[:10])
    if layer:
        drawn = [one for one in drawn if one.layer.lower() == layer.lower()]
    if len(drawn) == 1:
        return drawn[0]
    on = f" on layer {layer}" if layer else ""
    if not drawn and layers:
        raise _Refused(
            f"the drawing has no closed polyline{on}", f"Name one of its layers: {listed}.", "layer"
        )
    if not drawn:
        raise _Refused(
            "the drawing has no closed polyline",
            "Draw the outline in plan as one closed polyline, not in a block.",
        )
    if len({one.layer for one in drawn}) > 1:
        raise _Refused(
            f"the drawing has {len(drawn)} closed polylines",
            f"Say which layer holds the outline: {listed}.",
        )
    raise _Refused(
        f"the drawing has {len(drawn)} closed polylines{on or f' on layer {listed}'}",
        "Leave only the outline on its layer.",
    )


def _unit(number: int, given: str) -> str:
    if number == 0:
        if not given:
            raise _Refused(
                "the drawing states no unit", "Give the unit it is drawn in, such as mm or in.",
                "unit",
            )  # fmt: skip
        return given
    drawn = DRAWN_UNITS.get(number)
    if drawn is None:
        raise _Refused(
            f"the drawing's unit, number {number} of $INSUNITS, is not taken here",
            "Draw it in inches, feet, yards, millimetres, centimetres or metres.",
        )
    if given and given != drawn:
        raise _Refused(
            f"the drawing states {drawn} as its unit and the request {given}",
            "Leave the unit out, or correct the drawing's.",
            "unit",
        )
    return drawn


def _measured(drawn: _Drawn, unit: str) -> DrawnOutline:
    corners = drawn.corners
    if not 3 <= len(corners) <= MOST_VERTICES:
        raise _Refused(
            f"the polyline has {len(corners)} corners; an outline has 3 to {MOST_VERTICES}",
            "Draw arcs as arcs, and each corner once.",
        )
    try:
        vertices = tuple(
            (length_of(_plain(x), unit, signed=True), length_of(_plain(y), unit, signed=True))
            for x, y, _ in corners
        )
    except UnreadableLength as reason:
        raise _Refused(
            f"the polyline lies out of reach: {reason}", "Move it near the drawing's origin."
        ) from None
    bulges = [bulge if abs(bulge) > STRAIGHT_BULGE else 0.0 for _, _, bulge in corners]
    if not all(abs(bulge) <= 1.0 + 1e-9 for bulge in bulges):
        raise _Refused(
            "an arc of the polyline is more than half a circle", "Split it into two arcs."
        )
    hand = 1.0 if _area(corners, bulges) >= 0 else -1.0
    ends = zip(vertices, (*vertices[1:], vertices[0]), bulges, strict=True)
    sagittas = tuple(
        snap_mm(hand * bulge * mm_of(math.isqrt((c - a) ** 2 + (d - b) ** 2)) / 2)
        for (a, b), (c, d), bulge in ends
    )
    return DrawnOutline(vertices, sagittas if any(sagittas) else ())


def _plain(coordinate: float) -> float:
    """Round away the binary noise of a coordinate, to twelve digits."""
    return float(f"{coordinate:.12g}")


def _area(corners: Sequence[Corner], bulges: Sequence[float]) -> float:
    """Give the signed area, arcs included: positive for an anticlockwise outline."""
    area = 0.0
    for (ax, ay, _), (bx, by, _), bulge in zip(
        corners, (*corners[1:], corners[0]), bulges, strict=True
    ):
        area += (ax * by - bx * ay) / 2
        if bulge:
            chord, angle = math.hypot(bx - ax, by - ay), 4 * math.atan(abs(bulge))
            radius = chord / (2 * math.sin(angle / 2))
            area += math.copysign(radius * radius * (angle - math.sin(angle)) / 2, bulge)
    return area

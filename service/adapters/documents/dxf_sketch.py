"""Puts what is drawn on paper into the model space of a DXF drawing, on layers by trade term."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from service.adapters.documents.extents import Box
from service.adapters.documents.pens import PENS
from service.adapters.documents.plan_page import element_id
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Dimension,
    Group,
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Shape,
    Text,
    exploded,
)
from service.adapters.xml_text import fit_for_xml

LAYERS = {
    Layer.DECK: "DECK-EDGE",
    Layer.UNGUARDED: "DECK-EDGE",
    Layer.WALL: "WALLS",
    Layer.EXISTING: "EXISTING",
    Layer.STAIR: "STAIRS",
    Layer.NOSING: "NOSING-LINES",
    Layer.POST: "POSTS",
    Layer.STANDING_POST: "POSTS",
    Layer.RAIL: "RAILS",
    Layer.PICKET: "PICKETS",
    Layer.REMOVED: "PICKETS",
    Layer.INFILL: "INFILL",
    Layer.SUPPORT: "SUPPORT-LEGS",
    Layer.GATE: "GATES",
    Layer.HANDRAIL: "HANDRAILS",
    Layer.DIMENSION: "DIMENSIONS",
    Layer.MARK: "NOTES",
    Layer.LETTERING: "NOTES",
    Layer.FRAME: "NOTES",
}
_ALIGNED = {
    Anchor.START: TextEntityAlignment.LEFT,
    Anchor.MIDDLE: TextEntityAlignment.CENTER,
    Anchor.END: TextEntityAlignment.RIGHT,
}
_LONGEST_TITLE = 250


def line_type(layer: Layer) -> str:
    """Name the dashes of a layer."""
    return f"{layer.upper()}-LINE"


def line_weight(layer: Layer) -> int:
    """Give the nearest line weight that DXF knows. [0.01 mm]"""
    wanted = round(PENS[layer][0] * 100)
    return int(min(VALID_DXF_LINEWEIGHTS, key=lambda weight: abs(weight - wanted)))


@dataclass(slots=True)
class Sketch:
    """Puts shapes on paper into model space; ``size`` is how many units a paper millimetre is."""

    document: Drawing
    size: float

    def draw(self, group: Group, offset: PaperPoint) -> None:
        """Draw a group's shapes and name them together."""
        shift = (group.offset[0] + offset[0], group.offset[1] + offset[1])
        entities = [entity for shape in group.shapes for entity in self._entities(shape, shift)]
        if entities:
            description = _plain(group.title)[:_LONGEST_TITLE]
            named = self.document.groups.new(element_id(group.id).upper(), description)
            named.extend(entities)

    def _entities(self, shape: Shape, shift: PaperPoint) -> Iterator[DXFEntity]:
        if isinstance(shape, Dimension):
            for part in exploded(shape):
                yield self._entity(part, shift, LAYERS[Layer.DIMENSION])
        else:
            yield self._entity(shape, shift, LAYERS[Layer.LETTERING])

    def _entity(
        self, shape: Line | Polyline | Circle | Text, shift: PaperPoint, lettering: str
    ) -> DXFEntity:
        space = self.document.modelspace()

        def at(point: PaperPoint) -> tuple[float, float]:
            return (point[0] + shift[0]) * self.size, -(point[1] + shift[1]) * self.size

        if isinstance(shape, Text):
            look = {
                "layer": lettering, "style": "LETTERING", "height": shape.height * self.size,
                "rotation": -shape.turn_deg,
            }  # fmt: skip
            text = space.add_text(_plain(shape.content), dxfattribs=look)
            return text.set_placement(at(shape.at), align=_ALIGNED[shape.anchor])
        pen = _pen(shape.layer)
        if isinstance(shape, Line):
            return space.add_line(at(shape.start), at(shape.end), dxfattribs=pen)
        if isinstance(shape, Circle):
            return space.add_circle(at(shape.centre), shape.radius * self.size, dxfattribs=pen)
        points = [at(point) for point in shape.points]
        return space.add_lwpolyline(points, close=shape.closed, dxfattribs=pen)

    def frame(self, placed: Sequence[tuple[Box, PaperPoint]]) -> None:
        """Note the extents, and show all of the drawing when it is opened."""
        left = min(box.left + x for box, (x, _) in placed) * self.size
        right = max(box.right + x for box, (x, _) in placed) * self.size
        top = -min(box.top + y for box, (_, y) in placed) * self.size
        foot = -max(box.bottom + y for box, (_, y) in placed) * self.size
        space = self.document.modelspace()
        space.dxf.extmin, space.dxf.extmax = (left, foot, 0.0), (right, top, 0.0)
        height = max(top - foot, (right - left) / 1.5) * 1.05
        self.document.set_modelspace_vport(height, ((left + right) / 2, (foot + top) / 2))


def _pen(layer: Layer) -> dict[str, object]:
    pen: dict[str, object] = {"layer": LAYERS[layer], "lineweight": line_weight(layer)}
    return {**pen, "linetype": line_type(layer)} if PENS[layer][1] else pen


def _plain(text: str) -> str:
    r"""Take from a text what DXF would read as a code: %%, ^ and \U+.

    Example:
        >>> _plain("50 %%d ^J \\U+0041")
        '50 % %d ^ J \\ U+0041'
    """
    text = fit_for_xml(text).replace("^", "^ ")
    text = text.replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")
    while "%%" in text:
        text = text.replace("%%", "% %")
    return text

"""The four ways a request gives an outline, and how each becomes corners."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from marshmallow import fields

from service.api.schemas.base import Complaints, Path, StrictSchema
from service.api.schemas.fields import (
    Choice,
    DrawingText,
    LengthField,
    OneOf,
    Rows,
    Text,
    YesNo,
    turn,
)
from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_records import DrawnOutline, SurveyReport
from service.domain.layout.survey_sides import outline_of_open_sides, survey_of_sides
from service.domain.layout.survey_tapes import survey_of_tapes
from service.usecases.ports import OutlineReader

MOST_EDGES = 200
MOST_TAPES = 600
LONGEST_CORNER = 20
LONGEST_LAYER = 255  # characters of a DXF symbol name
LARGEST_DRAWING = 600_000  # characters
DRAWING_UNITS = ("in", "ft", "yd", "mm", "cm", "m")

Loaded = Mapping[str, Any]
_reader: ContextVar[OutlineReader] = ContextVar("outline reader")


class Vertex(StrictSchema):
    """One corner in plan, x to the right and y up."""

    x = LengthField(kind="Coordinate", required=True)
    y = LengthField(kind="Coordinate", required=True)


class TapedSide(StrictSchema):
    """One side and the turn at its end, left (anticlockwise) positive, in degrees."""

    length = LengthField(required=True)
    turn = turn(required=True)


class TapeSchema(StrictSchema):
    """A distance taped between two corners, along an edge or across the deck."""

    start = Text(LONGEST_CORNER, required=True, data_key="from")
    end = Text(LONGEST_CORNER, required=True, data_key="to")
    length = LengthField(required=True)


class OutlineByVertices(StrictSchema):
    """An outline by its corners, in order; a last corner equal to the first is left out."""

    vertices = Rows(fields.Nested(Vertex), 3, MOST_EDGES + 1, required=True)


class OutlineBySides(StrictSchema):
    """An outline by its sides and turning angles, in order; the last may close it unmeasured."""

    sides = Rows(fields.Nested(TapedSide), 2, MOST_EDGES, required=True)
    closing_side = YesNo(load_default=False)


class OutlineByTapes(StrictSchema):
    """An outline by taped sides and diagonals; corners are named anticlockwise.

    Each corner needs tapes to two others; further tapes check them and are adjusted.
    """

    corners = Rows(Text(LONGEST_CORNER), 3, MOST_EDGES, required=True)
    tapes = Rows(fields.Nested(TapeSchema), 3, MOST_TAPES, required=True)


class OutlineByDrawing(StrictSchema):
    """An outline by the closed polyline of a DXF drawing, the file's text in dxf.

    The layer chooses among several. The unit is for drawings that state none.
    """

    dxf = DrawingText(LARGEST_DRAWING, required=True)
    layer = Text(LONGEST_LAYER)
    unit = Choice(DRAWING_UNITS, title="DrawingUnit")


def outline_field() -> OneOf:
    """Give the field of an outline."""
    shapes = {
        "vertices": OutlineByVertices,
        "sides": OutlineBySides,
        "tapes": OutlineByTapes,
        "dxf": OutlineByDrawing,
    }
    return OneOf("", shapes, required=True)


@contextmanager
def drawings_read_by(reader: OutlineReader) -> Iterator[None]:
    """Read the drawings of requests that are loaded inside with this reader."""
    token = _reader.set(reader)
    try:
        yield
    finally:
        _reader.reset(token)


def check_outline(level: Loaded, path: Path, complaints: Complaints) -> None:
    """Note corners named twice, and edges that are not one for each corner or side."""
    outline = level["outline"]
    if "dxf" in outline:  # its corners are counted once it has been read
        return
    form = next(form for form in ("vertices", "sides", "corners") if form in outline)
    count, edges = len(outline[form]) + outline.get("closing_side", False), len(level["edges"])
    if form == "corners":
        seen: set[str] = set()
        for index, name in enumerate(outline[form]):
            if name in seen:
                complaints.add((*path, "outline", form, index), f"{name!r} is taken.")
            seen.add(name)
    closed = form == "vertices" and outline[form][0] == outline[form][-1]
    if edges != count and not (closed and edges == count - 1):
        complaints.add((*path, "edges"), f"{edges} edges for {count} {form}; give one for each.")


def outline_of(level: Loaded, index: int) -> tuple[DrawnOutline, SurveyReport | None]:
    """Give a level's corners and arcs, and how well its tape readings agreed.

    Raises:
        InvalidGeometry: The readings contradict each other, or a drawing holds no outline.
        UnknownReference: A tape names no corner.
    """
    outline, name = level["outline"], level["name"]
    where: Path = ("deck", "levels", index, "outline")
    if "vertices" in outline:
        return DrawnOutline(tuple((v["x"], v["y"]) for v in outline["vertices"])), None
    if "dxf" in outline:
        read, layer, unit = _reader.get(), outline.get("layer", ""), outline.get("unit", "")
        return read(outline["dxf"], layer=layer, unit=unit, where=where), None
    if "sides" in outline:
        sides = [(side["length"], side["turn"]) for side in outline["sides"]]
        if outline.get("closing_side"):
            return DrawnOutline(outline_of_open_sides(sides)), None
        corners, survey = survey_of_sides(name, sides, (*where, "sides"))
    else:
        tapes = [Tape(tape["start"], tape["end"], tape["length"]) for tape in outline["tapes"]]
        corners, survey = survey_of_tapes(name, outline["corners"], tapes, where)
    return DrawnOutline(corners), survey

"""The deck as a request gives it: levels, edges, openings and stairs."""

from marshmallow import fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import Choice, JsonInt, LengthField, OneOf, Rows, Text, YesNo, turn
from service.domain.layout.deck import EdgeKind, Footing, OpeningKind, Side, Turn

MOST_LEVELS = 20
MOST_EDGES = 200
MOST_STAIRS = 50
MOST_OPENINGS = 20
MOST_RISERS = 200
MOST_FLIGHTS = 10
LONGEST_NAME = 60


class Vertex(StrictSchema):
    """One corner in plan, x to the right and y up."""

    x = LengthField(kind="Coordinate", required=True)
    y = LengthField(kind="Coordinate", required=True)


class TapedSide(StrictSchema):
    """One side and the turn at its end, left (anticlockwise) positive, in degrees."""

    length = LengthField(required=True)
    turn = turn(required=True)


class OutlineByVertices(StrictSchema):
    """An outline by its corners, in order, not closed."""

    vertices = Rows(fields.Nested(Vertex), 3, MOST_EDGES, required=True)


class OutlineBySides(StrictSchema):
    """An outline by its sides and turning angles, in order."""

    sides = Rows(fields.Nested(TapedSide), 3, MOST_EDGES, required=True)


class Gate(StrictSchema):
    """A gate and the width of its opening."""

    name = Text(LONGEST_NAME, required=True)
    width = LengthField(required=True)


class StairOpening(StrictSchema):
    """Where a stair leaves an open edge; without an offset it is centred."""

    kind = Choice([OpeningKind.STAIR], required=True)
    stair = Text(LONGEST_NAME, required=True)
    offset = LengthField(kind="Length", load_default=absent)


class GateOpening(StrictSchema):
    """Where a gate stands in an open edge; without an offset it is centred."""

    kind = Choice([OpeningKind.GATE], required=True)
    gate = fields.Nested(Gate, required=True)
    offset = LengthField(kind="Length", load_default=absent)


class WallEdge(StrictSchema):
    """An edge against a wall."""

    kind = Choice([EdgeKind.WALL], required=True)


class ExistingEdge(StrictSchema):
    """An edge along a guard that already stands."""

    kind = Choice([EdgeKind.EXISTING], required=True)
    fall_height = LengthField(kind="Length", load_default=absent)


class OpenEdge(StrictSchema):
    """An open edge; guard false leaves it without one."""

    kind = Choice([EdgeKind.OPEN], required=True)
    fall_height = LengthField(kind="Length", load_default=absent)
    guard = YesNo(load_default=True)
    openings = Rows(
        OneOf("kind", {"stair": StairOpening, "gate": GateOpening}),
        0, MOST_OPENINGS, load_default=list,
    )  # fmt: skip


class StairEdge(StrictSchema):
    """An open edge with one stair in it."""

    kind = Choice([OpeningKind.STAIR], required=True)
    stair = Text(LONGEST_NAME, required=True)
    offset = LengthField(kind="Length", load_default=absent)
    fall_height = LengthField(kind="Length", load_default=absent)
    guard = YesNo(load_default=True)


class GateEdge(StrictSchema):
    """An open edge with one gate in it."""

    kind = Choice([OpeningKind.GATE], required=True)
    gate = fields.Nested(Gate, required=True)
    offset = LengthField(kind="Length", load_default=absent)
    fall_height = LengthField(kind="Length", load_default=absent)
    guard = YesNo(load_default=True)


class LevelSchema(StrictSchema):
    """One flat walking surface: edge i runs from corner i to the next, or is side i."""

    name = Text(LONGEST_NAME, required=True)
    outline = OneOf("", {"vertices": OutlineByVertices, "sides": OutlineBySides}, required=True)
    edges = Rows(
        OneOf(
            "kind",
            {
                "open": OpenEdge,
                "wall": WallEdge,
                "existing": ExistingEdge,
                "stair": StairEdge,
                "gate": GateEdge,
            },
        ),
        3,
        MOST_EDGES,
        required=True,
    )


class LandingSchema(StrictSchema):
    """A landing between two flights; the gap is that of a switchback."""

    turn = Choice(Turn, required=True)
    length = LengthField(required=True)
    gap = LengthField(kind="Length", load_default=0)


class StairSchema(StrictSchema):
    """A stair down and outwards from an edge: one flight, or flights with landings between.

    Flights give the risers of each flight from the top and add up to risers. Handrails name the
    sides that take one on brackets; without them the sides that are not open do.
    """

    name = Text(LONGEST_NAME, required=True)
    total_rise = LengthField(required=True)
    risers = JsonInt(1, MOST_RISERS, required=True)
    unit_run = LengthField(required=True)
    width = LengthField(required=True)
    nosing = LengthField(kind="Length", load_default=0)
    open_sides = Rows(
        Choice(Side), 0, len(Side), load_default=lambda: [side.value for side in Side]
    )
    bottom = Choice(Footing, load_default=Footing.GRADE.value)
    flights = Rows(JsonInt(1, MOST_RISERS), 0, MOST_FLIGHTS, load_default=list)
    landings = Rows(fields.Nested(LandingSchema), 0, MOST_FLIGHTS - 1, load_default=list)
    handrails = Rows(Choice(Side), 0, len(Side), load_default=absent)


class DeckSchema(StrictSchema):
    """Everything taped on site."""

    levels = Rows(fields.Nested(LevelSchema), 1, MOST_LEVELS, required=True)
    stairs = Rows(fields.Nested(StairSchema), 0, MOST_STAIRS, load_default=list)

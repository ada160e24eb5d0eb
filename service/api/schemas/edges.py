"""The edges of a level as a request gives them, and what interrupts their guard."""

from marshmallow import fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.built import MOST_FALLS, FallSchema, ShutSchema
from service.api.schemas.fields import Choice, LengthField, OneOf, Rows, Text, YesNo
from service.domain.layout.deck import EdgeKind, OpeningKind, Side, Swing

MOST_OPENINGS = 20
LONGEST_NAME = 60


def offset() -> LengthField:
    """Give the field of an opening's place along its edge; left out, it is centred."""
    return LengthField(kind="Length", load_default=absent)


def falls() -> Rows:
    """Give the field of the falls taped outward from an edge."""
    return Rows(fields.Nested(FallSchema), 0, MOST_FALLS, load_default=list)


class Gate(StrictSchema):
    """A gate and the width of its opening."""

    name = Text(LONGEST_NAME, required=True)
    width = LengthField(required=True)


class HungGate(StrictSchema):
    """How a gate hangs: which way it swings, and its hinges as one walks out through it."""

    gate = fields.Nested(Gate, required=True)
    swing = Choice(Swing, load_default=Swing.IN.value)
    hinge = Choice(Side, load_default=Side.LEFT.value)
    shut = fields.Nested(ShutSchema, load_default=absent)
    offset = offset()


class StairOpening(StrictSchema):
    """Where a stair leaves an open edge; without an offset it is centred."""

    kind = Choice([OpeningKind.STAIR], required=True)
    stair = Text(LONGEST_NAME, required=True)
    offset = offset()


class ArrivalOpening(StrictSchema):
    """Where a stair from a level above ends at an open edge."""

    kind = Choice([OpeningKind.ARRIVAL], required=True)
    stair = Text(LONGEST_NAME, required=True)
    offset = offset()


class GateOpening(HungGate):
    """Where a gate stands in an open edge; without an offset it is centred."""

    kind = Choice([OpeningKind.GATE], required=True)


class ThingOpening(StrictSchema):
    """A chimney, column or the like that closes a stretch of an open edge by itself."""

    kind = Choice([OpeningKind.OBSTACLE], required=True)
    name = Text(LONGEST_NAME, required=True)
    width = LengthField(required=True)
    offset = offset()


class ExistingPostOpening(StrictSchema):
    """A post that already stands in an open edge and is tied into from both sides."""

    kind = Choice([OpeningKind.EXISTING_POST], required=True)
    name = Text(LONGEST_NAME, required=True)
    width = LengthField(required=True)
    offset = offset()


class ArcSchema(StrictSchema):
    """An arc over the straight line between the edge's corners; outwards is positive."""

    sagitta = LengthField(kind="Coordinate", required=True)


class WallEdge(StrictSchema):
    """An edge against a wall."""

    kind = Choice([EdgeKind.WALL], required=True)
    arc = fields.Nested(ArcSchema, load_default=absent)


class ExistingEdge(StrictSchema):
    """An edge along a guard that already stands."""

    kind = Choice([EdgeKind.EXISTING], required=True)
    fall_height = LengthField(kind="Length", load_default=absent)
    falls_taped = falls()
    arc = fields.Nested(ArcSchema, load_default=absent)


class OpenEdge(StrictSchema):
    """An open edge; guard false leaves it without one."""

    kind = Choice([EdgeKind.OPEN], required=True)
    fall_height = LengthField(kind="Length", load_default=absent)
    falls_taped = falls()
    guard = YesNo(load_default=True)
    arc = fields.Nested(ArcSchema, load_default=absent)
    openings = Rows(
        OneOf(
            "kind",
            {
                "stair": StairOpening,
                "gate": GateOpening,
                "arrival": ArrivalOpening,
                "obstacle": ThingOpening,
                "existing_post": ExistingPostOpening,
            },
        ),
        0,
        MOST_OPENINGS,
        load_default=list,
    )


class StairEdge(StairOpening):
    """An open edge with one stair in it."""

    fall_height = LengthField(kind="Length", load_default=absent)
    falls_taped = falls()
    guard = YesNo(load_default=True)


class GateEdge(GateOpening):
    """An open edge with one gate in it."""

    fall_height = LengthField(kind="Length", load_default=absent)
    falls_taped = falls()
    guard = YesNo(load_default=True)


def edge_field() -> OneOf:
    """Give the field of an edge."""
    shapes = {
        "open": OpenEdge,
        "wall": WallEdge,
        "existing": ExistingEdge,
        "stair": StairEdge,
        "gate": GateEdge,
    }
    return OneOf("kind", shapes)

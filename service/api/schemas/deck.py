"""The deck as a request gives it: levels, edges, openings and stairs."""

from marshmallow import fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.built import Slope, lean
from service.api.schemas.edges import LONGEST_NAME, edge_field
from service.api.schemas.fields import Choice, JsonInt, LengthField, Rows, Text, YesNo
from service.api.schemas.outlines import MOST_EDGES, outline_field
from service.api.schemas.site import FramingSchema
from service.domain.compliance.site import RiserKind, Use
from service.domain.layout.deck import Footing, Side, Turn

MOST_LEVELS = 20
MOST_STAIRS = 50
MOST_RISERS = 200
MOST_FLIGHTS = 10


class LevelSchema(StrictSchema):
    """One flat walking surface: edge i runs from corner i to the next, or is side i."""

    name = Text(LONGEST_NAME, required=True)
    outline = outline_field()
    edges = Rows(edge_field(), 3, MOST_EDGES, required=True)
    framing = fields.Nested(FramingSchema, load_default=absent)
    height_above_ground = LengthField(kind="Length")


class LandingSchema(StrictSchema):
    """A landing between two flights; the gap is that of a switchback."""

    turn = Choice(Turn, required=True)
    length = LengthField(required=True)
    gap = LengthField(kind="Length", load_default=0)


class StairSchema(StrictSchema):
    """A stair down and outwards from an edge: one flight, or flights with landings between.

    Flights give the risers of each flight from the top and add up to risers. Handrails name the
    sides that take one on brackets; without them the sides that are not open do. Single steps
    taped, edges, headroom, landings, slopes and leans are for the code check alone.
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
    risers_taped = Rows(LengthField(), 0, MOST_RISERS)
    treads_taped = Rows(LengthField(), 0, MOST_RISERS)
    nosings_taped = Rows(LengthField(kind="Length"), 0, MOST_RISERS)
    riser_kind = Choice(RiserKind)
    tread_thickness = LengthField()
    nosing_radius = LengthField(kind="Length")
    headroom = LengthField()
    top_landing = LengthField()
    bottom_landing = LengthField()
    tread_slope = Slope()
    landing_slope = Slope()
    riser_lean = lean()


class DeckSchema(StrictSchema):
    """Everything taped on site, and what the deck belongs to."""

    levels = Rows(fields.Nested(LevelSchema), 1, MOST_LEVELS, required=True)
    stairs = Rows(fields.Nested(StairSchema), 0, MOST_STAIRS, load_default=list)
    use = Choice(Use)
    pool_barrier = YesNo()

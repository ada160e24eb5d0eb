"""What fills a guard instead of pickets: cables, glass or rails."""

from marshmallow import fields

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import DecimalText, JsonInt, LengthField, Rows, Text, YesNo
from service.domain.lengths import millimetres

INFILLS = ("pickets", "cables", "glass", "rails")
MOST_CORNERS = 100
MOST_WIDTHS = 20
MOST_CLAMPS = 20
LONGEST_NAME = 60


class CablesSchema(StrictSchema):
    """Cables: spacing, supports, and how far one tensioner pulls."""

    diameter = LengthField(required=True)
    max_gap = LengthField(required=True)
    deflection = LengthField(kind="Length", load_default=0)
    max_support = LengthField(required=True)
    end_allowance = LengthField(kind="Length", load_default=0)
    max_length = LengthField(required=True)
    max_corners = JsonInt(0, MOST_CORNERS, load_default=0)
    ends_at_line_posts = YesNo(load_default=False)


class PanelStockSchema(StrictSchema):
    """A width in which panels are supplied."""

    name = Text(LONGEST_NAME, required=True)
    width = LengthField(required=True)


class ClampsSchema(StrictSchema):
    """How many clamps hold a panel up to a height."""

    up_to = LengthField(required=True)
    per_panel = JsonInt(0, 100, required=True)


class GlassSchema(StrictSchema):
    """Glass panels; without stock they are cut to size in steps.

    mass_per_m2 is kilograms a square metre, max_mass kilograms that two people carry.
    """

    min_width = LengthField(required=True)
    max_width = LengthField(required=True)
    min_gap = LengthField(kind="Length", required=True)
    max_gap = LengthField(required=True)
    thickness = LengthField(required=True)
    mass_per_m2 = DecimalText(required=True)
    max_mass = DecimalText(required=True)
    stock = Rows(fields.Nested(PanelStockSchema), 0, MOST_WIDTHS, load_default=list)
    step = LengthField(load_default=millimetres(1))
    enters = LengthField(kind="Length", load_default=0)
    bottom_rail = YesNo(load_default=True)
    clamps = Rows(fields.Nested(ClampsSchema), 0, MOST_CLAMPS, load_default=list)


class InfillRailsSchema(StrictSchema):
    """Rails parallel to the top rail."""

    depth = LengthField(required=True)
    max_gap = LengthField(required=True)
    past_line_posts = YesNo(load_default=True)

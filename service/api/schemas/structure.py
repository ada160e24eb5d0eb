"""What the railing is made of and fixed with, as a request gives it for a screening.

Every member may be left out; what depends on it is then not assessed.
"""

import re
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    JsonInt,
    LengthField,
    OneOf,
    Rows,
    StrictField,
    Text,
    YesNo,
)
from service.api.schemas.site import MOST_HOLES, HoleSchema
from service.domain.structure.checks import Unit
from service.domain.structure.fasteners import DURATIONS, LONGEST_FOR_CONNECTIONS
from service.domain.structure.specification import Direction, PicketLoad
from service.quantities import (
    LONGEST_TEXT,
    UnreadableQuantity,
    parse_quantity,
    quantity_pattern,
    unit_spellings,
)

MOST_PER_ROW = 8
LONGEST_NAME = 60
LONGEST_RATING = 200
CONNECTION_DURATIONS = tuple(
    name for name, factor in DURATIONS.items() if factor <= LONGEST_FOR_CONNECTIONS
)


class QuantityField(StrictField[float]):
    """A force, a section property or a speed with its unit, such as "1200 lb", over zero."""

    def __init__(self, kind: Unit, **options: Any) -> None:
        super().__init__(**options)
        self.kind = kind

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if not isinstance(value, str):
            units = ", ".join(unit_spellings(self.kind))
            raise ValidationError(f"Write a text with a number and a unit: {units}.")
        try:
            return parse_quantity(value, self.kind)
        except UnreadableQuantity as error:
            raise ValidationError(str(error)) from None

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {
            "type": "string",
            "maxLength": LONGEST_TEXT,
            "pattern": quantity_pattern(self.kind),
        }


class Factor(DecimalText):
    """A plain number over zero, as text."""

    pattern = r"^(?:[1-9][0-9]{0,3}(?:\.[0-9]{1,6})?|0\.[0-9]{0,5}[1-9])$"
    advice = 'Write a plain decimal over zero in quotes, such as "0.85".'

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Decimal:
        if isinstance(value, str) and not re.fullmatch(self.pattern, value):
            raise ValidationError(self.advice)
        return super()._deserialize(value, attr, data, **kwargs)


class TubeSchema(StrictSchema):
    """A rectangular tube: width along the guard (a rail's across it), depth the other way."""

    shape = Choice(["tube"], required=True)
    width = LengthField(required=True)
    depth = LengthField(required=True)
    wall = LengthField(required=True)


class BarSchema(StrictSchema):
    """A solid rectangular bar, width and depth as of a tube."""

    shape = Choice(["bar"], required=True)
    width = LengthField(required=True)
    depth = LengthField(required=True)


class RoundTubeSchema(StrictSchema):
    """A round tube."""

    shape = Choice(["round_tube"], required=True)
    diameter = LengthField(required=True)
    wall = LengthField(required=True)


class AxisSchema(StrictSchema):
    """Properties for bending one way; the flat width over thickness of the compressed wall."""

    second_moment = QuantityField(Unit.SECOND_MOMENT, required=True)
    section_modulus = QuantityField(Unit.MODULUS, required=True)
    plastic_modulus = QuantityField(Unit.MODULUS, load_default=absent)
    wall_ratio = Factor(load_default=absent)


class DrawnSectionSchema(StrictSchema):
    """Properties from a die drawing: for a load square to the guard, and the other way."""

    shape = Choice(["drawn"], required=True)
    area = QuantityField(Unit.AREA, required=True)
    outward = fields.Nested(AxisSchema, required=True)
    other = fields.Nested(AxisSchema, load_default=absent)


class MemberSchema(StrictSchema):
    """Section and alloy; welded says whether the most bent part lies within 1 in of a weld."""

    section = OneOf(
        "shape",
        {
            "tube": TubeSchema,
            "bar": BarSchema,
            "round_tube": RoundTubeSchema,
            "drawn": DrawnSectionSchema,
        },
        required=True,
    )
    alloy = Text(LONGEST_NAME, required=True)
    welded = YesNo(load_default=False)


class PostMemberSchema(MemberSchema):
    """A post; whether its foot is welded must be said."""

    welded = YesNo(required=True)


class PlateSchema(StrictSchema):
    """The plate under a post; what is left out is taken from the system's base plate."""

    thickness = LengthField(required=True)
    width = LengthField(load_default=absent)
    depth = LengthField(load_default=absent)
    holes = Rows(fields.Nested(HoleSchema), 1, MOST_HOLES, load_default=absent)


class LagSchema(StrictSchema):
    """A lag screw; thread, root and tip are taken from the standard where left out."""

    kind = Choice(["lag"], required=True)
    diameter = LengthField(required=True)
    length = LengthField(required=True)
    thread = LengthField(load_default=absent)
    root = LengthField(load_default=absent)
    tip = LengthField(load_default=absent)
    edge_distance = LengthField(load_default=absent)
    end_distance = LengthField(load_default=absent)
    lateral = QuantityField(Unit.FORCE, load_default=absent)
    rating = Text(LONGEST_RATING, load_default=absent)


class BoltSchema(StrictSchema):
    """A through bolt with a washer on the timber."""

    kind = Choice(["bolt"], required=True)
    diameter = LengthField(required=True)
    washer = LengthField(load_default=absent)
    edge_distance = LengthField(load_default=absent)
    end_distance = LengthField(load_default=absent)


class RatedSchema(StrictSchema):
    """A fastener by its maker's allowable tension, and where that is printed."""

    kind = Choice(["rated"], required=True)
    tension = QuantityField(Unit.FORCE, required=True)
    rating = Text(LONGEST_RATING, required=True)


def fastener(**options: Any) -> OneOf:
    """Give the field of a fastener."""
    shapes = {"lag": LagSchema, "bolt": BoltSchema, "rated": RatedSchema}
    return OneOf("kind", shapes, **options)


class HoldingTimberSchema(StrictSchema):
    """The timber that holds; wet unless said, decking as of the level's framing."""

    species = Text(LONGEST_NAME, required=True)
    wet = YesNo(load_default=True)
    duration = Choice(CONNECTION_DURATIONS, title="LoadDuration", load_default="ten years")
    decking = LengthField(kind="Length", load_default=absent)


class SideMountSchema(StrictSchema):
    """Two rows of fasteners through a rim; drop is the walking surface down to the upper row."""

    drop = LengthField(kind="Length", required=True)
    spacing = LengthField(required=True)
    per_row = JsonInt(1, MOST_PER_ROW, load_default=1)
    bracket = LengthField(kind="Length", load_default=0)
    rim_held = YesNo(load_default=absent)
    fastener = fastener(required=True)


class WindSchema(StrictSchema):
    """Wind on the face of the guard; factors as the standard names them."""

    speed = QuantityField(Unit.SPEED, required=True)
    exposure = Factor(load_default=Decimal("0.85"))
    topography = Factor(load_default=Decimal(1))
    direction = Factor(load_default=Decimal("0.85"))
    gust = Factor(load_default=Decimal("0.85"))
    coefficient = Factor(load_default=absent)


class StructureSchema(StrictSchema):
    """What to screen; the settings decide how the code's load acts."""

    post = fields.Nested(PostMemberSchema, load_default=absent)
    top_rail = fields.Nested(MemberSchema, load_default=absent)
    picket = fields.Nested(MemberSchema, load_default=absent)
    infill_rail = fields.Nested(MemberSchema, load_default=absent)
    base = fields.Nested(PlateSchema, load_default=absent)
    fastener = fastener(load_default=absent)
    slab_anchor = OneOf("kind", {"rated": RatedSchema}, load_default=absent)
    timber = fields.Nested(HoldingTimberSchema, load_default=absent)
    side_mount = fields.Nested(SideMountSchema, load_default=absent)
    wind = fields.Nested(WindSchema, load_default=absent)
    load_direction = Choice(Direction, title="LoadDirection", load_default=Direction.ANY.value)
    picket_load = Choice(PicketLoad, load_default=PicketLoad.WHOLE.value)

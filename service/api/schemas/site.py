"""What is under the deck and how warm it is: framing, base plate, conditions."""

import re
from typing import Any

from marshmallow import ValidationError, fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import LengthField, Rows, StrictField, turn
from service.quantities import (
    EXPANSION_PATTERN,
    TEMPERATURE_PATTERN,
    parse_expansion,
    parse_temperature,
)

MOST_HOLES = 12


class Temperature(StrictField[float]):
    """A temperature with its unit, such as "70 degF" or "21 °C", to kelvin."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if not isinstance(value, str) or not re.fullmatch(TEMPERATURE_PATTERN, value):
            raise ValidationError(
                'Write degrees with their unit, such as "70 degF" or "21 degC", below 200.'
            )
        return parse_temperature(value)

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {
            "type": "string",
            "maxLength": 16,
            "pattern": TEMPERATURE_PATTERN,
            "examples": ["70 degF", "21 degC"],
        }


class Expansion(StrictField[float]):
    """A coefficient of linear expansion, such as "13.1 ppm/degF", to 1/K."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if not isinstance(value, str) or not re.fullmatch(EXPANSION_PATTERN, value):
            raise ValidationError(
                "Write parts per million for each degree, such as "
                '"13.1 ppm/degF" or "23.6 ppm/degC", below 100.'
            )
        return parse_expansion(value)

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {
            "type": "string",
            "maxLength": 16,
            "pattern": EXPANSION_PATTERN,
            "examples": ["13.1 ppm/degF", "23.6 ppm/degC"],
        }


class ConditionsSchema(StrictSchema):
    """Temperature of the metal when the railing goes in, and its lowest and highest."""

    install_temperature = Temperature(required=True)
    lowest = Temperature(required=True)
    highest = Temperature(required=True)


class TimberSchema(StrictSchema):
    """Actual size of a timber."""

    thickness = LengthField(required=True)
    depth = LengthField(required=True)


class FramingSchema(StrictSchema):
    """Joists and rim of a level; the direction is in plan, anticlockwise from x, in degrees.

    The first joist's centre is taped square to the joists from the leftmost corner, or from the
    lowest where the joists run along x.
    """

    joist_direction = turn(required=True)
    spacing = LengthField(required=True)
    first_joist = LengthField(kind="Length", required=True)
    joist = fields.Nested(TimberSchema, required=True)
    rim_thickness = LengthField(required=True)
    block = fields.Nested(TimberSchema, required=True)
    decking = LengthField(required=True)
    overhang = LengthField(kind="Length", load_default=0)
    block_fit = LengthField(kind="Length", load_default=0)


class HoleSchema(StrictSchema):
    """A fastener's hole from the post's centre: x along the guard, y into the deck."""

    x = LengthField(kind="Coordinate", required=True)
    y = LengthField(kind="Coordinate", required=True)


class BasePlateSchema(StrictSchema):
    """The square plate under a post and the edge distances its fasteners need in timber.

    Without an end distance the edge distance holds for ends too.
    """

    plate = LengthField(required=True)
    holes = Rows(fields.Nested(HoleSchema), 1, MOST_HOLES, required=True)
    fastener_diameter = LengthField(required=True)
    edge_distance = LengthField(required=True)
    end_distance = LengthField(load_default=absent)

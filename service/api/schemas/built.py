"""What was found of edges, stairs and gates as built, for the code check alone."""

import re
from fractions import Fraction
from typing import Any

from marshmallow import ValidationError, fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import Angle, Choice, LengthField, StrictField, YesNo
from service.domain.compliance.site import ReleaseSide

MOST_FALLS = 20
_RATIO = r"[0-9]{1,3}(?:/[1-9][0-9]?)? ?: ?[1-9][0-9]{0,3}(?:\.[0-9]{1,3})?"
_PERCENT = r"[0-9]{1,2}(?:\.[0-9]{1,4})? ?%"


class Slope(StrictField[Fraction]):
    """A slope as rise to run, such as "1:48" or "1/4:12", or in percent, such as "2 %"."""

    pattern = f"^(?:{_RATIO}|{_PERCENT})$"

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Fraction:
        if not isinstance(value, str) or not re.fullmatch(self.pattern, value):
            raise ValidationError(
                'Write rise to run, such as "1:48" or "1/4:12", or percent, such as "2.1 %".'
            )
        if value.endswith("%"):
            return Fraction(value.rstrip(" %")) / 100
        rise, run = value.replace(" ", "").split(":")
        return Fraction(rise) / Fraction(run)

    def json_schema(self) -> dict[str, Any]:
        """Describe both forms."""
        return {
            "type": "string",
            "maxLength": 16,
            "pattern": self.pattern,
            "examples": ["1:48", "1/4:12", "2.1 %"],
        }


def lean(**options: Any) -> Angle:
    """Give the lean of risers from upright, to either side."""
    pattern = r"^[\-\u2212]?(?:[0-9]|[1-8][0-9])(?:\.[0-9]{1,9})?°?$"
    return Angle(-90, 90, pattern, **options)


class FallSchema(StrictSchema):
    """The fall from the walking surface to the ground at one distance outward from the edge."""

    distance = LengthField(kind="Length", required=True)
    fall = LengthField(kind="Length", required=True)


class LatchSchema(StrictSchema):
    """Where the latch of a pool's gate is released, and what opens beside it."""

    release_height = LengthField(required=True)
    release_side = Choice(ReleaseSide, required=True)
    largest_opening = LengthField(kind="Length", load_default=absent)


class ShutSchema(StrictSchema):
    """How a gate in a pool's barrier shuts."""

    opens_from_pool = YesNo(load_default=absent)
    closes_itself = YesNo(load_default=absent)
    latches_itself = YesNo(load_default=absent)
    latch = fields.Nested(LatchSchema, load_default=absent)

"""Rules for parts and labour as a request gives them."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields

from service.api.answers.words import one_of, spelled
from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.conditions import Conditions
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    Fraction,
    JsonInt,
    LengthField,
    Rows,
    StrictField,
    Text,
    YesNo,
)
from service.domain.takeoff.beads import BeadShape
from service.domain.takeoff.kinds import KINDS, LENGTH, MEASURES, is_angle
from service.domain.takeoff.parts import Weight
from service.quantities import (
    LONGEST_TEXT,
    WEIGHT_NUMBER,
    WEIGHT_PATTERN,
    WEIGHT_UNITS,
    parse_weight,
)

MOST_STOCK = 30
LARGEST_PACK = 100_000
LARGEST_STOCK = 1_000_000
LONGEST_SKU = 60
LONGEST_DESCRIPTION = 200
_WEIGHT_UNIT_NAMES = [unit.upper().replace("/", "_PER_") for unit in WEIGHT_UNITS]
UNIT_OF_MEASURE = r"^[0-9A-Z]{2,3}$"  # the form of a UN/ECE Recommendation 20 code


def unit_of_measure() -> Text:
    """Give the field of a unit code."""
    advice = "Write a UN/ECE Recommendation 20 code, such as C62 for one or MTR for a metre."
    return Text(3, pattern=UNIT_OF_MEASURE, advice=advice, required=True)


class WeightField(StrictField[Weight]):
    """A weight over zero with its unit: of a unit of measure, or of stock by its length."""

    advice = 'Write a weight such as "2.1 lb", "0.95 kg" or, of stock, "0.62 lb/ft".'

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Weight:
        if isinstance(value, Mapping) and value.keys() == {"value", "unit"}:
            number, unit = value["value"], value["unit"]
            # A text that holds its unit already must not pass with a second one.
            if not isinstance(number, str) or not re.fullmatch(WEIGHT_NUMBER, number):
                raise ValidationError(self.advice)
            value = f"{number} {unit}"
        if not isinstance(value, str) or not re.fullmatch(WEIGHT_PATTERN, value):
            raise ValidationError(self.advice)
        return Weight(*parse_weight(value))

    def json_schema(self) -> dict[str, Any]:
        """Describe both forms."""
        text = {"type": "string", "maxLength": LONGEST_TEXT, "pattern": WEIGHT_PATTERN}
        number = {"type": "string", "pattern": f"^{WEIGHT_NUMBER}$"}
        units = one_of(WEIGHT_UNITS, name="WeightUnit")
        valued = {
            "title": "WeightValue",
            "type": "object",
            "properties": {"value": number, "unit": spelled(units, _WEIGHT_UNIT_NAMES)},
            "required": ["value", "unit"],
            "additionalProperties": False,
        }
        return {"anyOf": [text, valued]}


class StockSchema(StrictSchema):
    """A length a part is cut from."""

    sku = Text(LONGEST_SKU, required=True)
    length = LengthField(required=True)
    first_picket = LengthField(kind="Length", load_default=absent)
    limit = JsonInt(0, LARGEST_STOCK, load_default=absent)


class BeadSchema(StrictSchema):
    """Cross-section of a bead: width of a fillet is its leg, of a round bead its diameter."""

    shape = Choice(BeadShape, required=True)
    width = LengthField(required=True)
    depth = LengthField(load_default=0)


class PackageSchema(StrictSchema):
    """How a part is packed for carriage: length of a package, and how many it holds."""

    length = LengthField(load_default=absent)
    holds = JsonInt(1, LARGEST_PACK, load_default=absent)


class RuleSchema(StrictSchema):
    """What a rule counts: elements of a kind that have the attributes and measures.

    Along is the length that per length goes by, where it is not the element's own.
    """

    per = Choice(KINDS, title="ElementKind", required=True)
    where = Conditions(load_default=dict)
    per_length = YesNo(load_default=False)
    along = Choice(
        sorted(m for m in MEASURES if not is_angle(m)), title="Measure", load_default=LENGTH
    )
    per_area = YesNo(load_default=False)


class PartSchema(RuleSchema):
    """A part and the elements that need it.

    A weight is that of one unit of measure; of a part cut from stock that of a metre or foot.
    """

    sku = Text(LONGEST_SKU, required=True)
    description = Text(LONGEST_DESCRIPTION, required=True)
    category = Text(40, required=True)
    quantity = DecimalText(load_default=Decimal(1))
    bead = fields.Nested(BeadSchema, load_default=absent)
    waste = Fraction(load_default=Decimal(0))
    unit_of_measure = unit_of_measure()
    pack_size = JsonInt(1, LARGEST_PACK, load_default=1)
    minimum = DecimalText(load_default=Decimal(0))
    stock = Rows(fields.Nested(StockSchema), 0, MOST_STOCK, load_default=list)
    weight = WeightField(load_default=absent)
    package = fields.Nested(PackageSchema, load_default=absent)


class LabourSchema(RuleSchema):
    """Minutes for a task, for each element it is done on."""

    task = Text(LONGEST_DESCRIPTION, required=True)
    category = Text(40, load_default=str)
    minutes = DecimalText(required=True)

"""Prices, taxes and labour as a request gives them."""

from decimal import Decimal

from marshmallow import fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import Choice, DecimalText, Fraction, IsoDate, JsonInt, Rows, Text
from service.api.schemas.parts import LARGEST_PACK, LONGEST_SKU, unit_of_measure

MOST_ROWS = 5000
MOST_TAXES = 10


class PriceRowSchema(StrictSchema):
    """Price of one unit of a part, from a day and an ordered quantity on."""

    sku = Text(LONGEST_SKU, required=True)
    unit_price = DecimalText(load_default=absent)
    unit_of_measure = unit_of_measure()
    cost = DecimalText(load_default=absent)
    min_quantity = DecimalText(load_default=lambda: Decimal(0))
    pack_size = JsonInt(1, LARGEST_PACK, load_default=absent)
    tax_class = Text(40, load_default=str)
    effective_from = IsoDate(load_default=absent)


class PriceTableSchema(StrictSchema):
    """All prices of one table, in one currency."""

    name = Text(80, required=True)
    currency = Text(
        3, pattern="^[A-Z]{3}$", advice="Write an ISO 4217 code such as USD.", required=True
    )
    rows = Rows(fields.Nested(PriceRowSchema), 0, MOST_ROWS, required=True)


class TaxSchema(StrictSchema):
    """One tax component: a fraction of the net of the lines it applies to."""

    name = Text(80, required=True)
    rate = Fraction(required=True)
    applies_to = Rows(Choice(["goods", "labour"], title="LineKind"), 1, 2, required=True)


class PricingSchema(StrictSchema):
    """Labour rate per hour, left out where labour is not quoted, and taxes."""

    labour_rate = DecimalText(load_default=absent)
    taxes = Rows(fields.Nested(TaxSchema), 0, MOST_TAXES, load_default=list)

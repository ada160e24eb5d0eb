"""Prices, and the rules by which a dealer makes a quote of them, as a request gives them."""

from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    Fraction,
    IsoDate,
    JsonInt,
    Rows,
    Text,
    YesNo,
)
from service.api.schemas.parts import LARGEST_PACK, LONGEST_SKU, WeightField, unit_of_measure
from service.domain.money import CURRENCIES
from service.domain.pricing.settings import CHARGE, Half, PriceFrom, TaxPer
from service.domain.takeoff.parts import Weight

MOST_ROWS = 5000
MOST_TAXES = 10
MOST_RULES = 500
MOST_PAYMENTS = 20


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


def currency() -> Text:
    """Give the field of a currency, one that is in use and has a minor unit."""
    advice = "Write the ISO 4217 code of a currency in use, such as USD, in capital letters."
    pattern = f"^(?:{'|'.join(sorted(CURRENCIES))})$"
    return Text(3, pattern=pattern, advice=advice, required=True)


class PriceTableSchema(StrictSchema):
    """All prices of one table, in one currency."""

    name = Text(80, required=True)
    currency = currency()
    rows = Rows(fields.Nested(PriceRowSchema), 0, MOST_ROWS, required=True)


class TaxSchema(StrictSchema):
    """One tax component: a fraction of the net of the lines it applies to."""

    name = Text(80, required=True)
    rate = Fraction(required=True)
    applies_to = Rows(Text(40), 1, 20, required=True)
    compound = YesNo(load_default=False)


class PricingRuleSchema(StrictSchema):
    """The part or the category a rule holds for; with neither, it holds for all others."""

    sku = Text(LONGEST_SKU, load_default=str)
    category = Text(40, load_default=str)


class MarkupSchema(PricingRuleSchema):
    """How the cost of a part becomes its price: a markup on the cost or a margin of the price."""

    markup = DecimalText()
    margin = Fraction()


class DiscountSchema(StrictSchema):
    """Money off: a rate or an amount."""

    name = Text(80, required=True)
    rate = Fraction()
    amount = DecimalText()


class LineDiscountSchema(PricingRuleSchema, DiscountSchema):
    """Money off each line of a part or category: a rate of it, or an amount of each line."""


class LabourRateSchema(StrictSchema):
    """What an hour of a category of tasks is sold for, and what it costs."""

    category = Text(40, load_default=str)
    rate = DecimalText(required=True)
    cost = DecimalText(load_default=absent)


class WeightLimit(WeightField):
    """A weight with its unit, not one by length."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Weight:
        weight = super()._deserialize(value, attr, data, **kwargs)
        if weight.per_metre:
            raise ValidationError('Write the weight of an order, such as "120 lb" or "55 kg".')
        return weight


class FreightBandSchema(StrictSchema):
    """What carriage to a zone costs up to a weight, or at any weight above the others."""

    zone = Text(40, required=True)
    up_to = WeightLimit(load_default=absent)
    amount = DecimalText(required=True)


class FreightSchema(StrictSchema):
    """Carriage by zone and weight."""

    name = Text(80, required=True)
    zone = Text(40, required=True)
    bands = Rows(fields.Nested(FreightBandSchema), 1, MOST_RULES, required=True)
    tax_class = Text(40, load_default=CHARGE)


class MinimumSchema(StrictSchema):
    """The least that goods and labour come to."""

    name = Text(80, required=True)
    amount = DecimalText(required=True)
    tax_class = Text(40, load_default=CHARGE)


class PaymentSchema(StrictSchema):
    """A part of the gross: a rate or an amount of it, or the rest."""

    due = Text(80, required=True)
    rate = Fraction()
    amount = DecimalText()


class RoundingSchema(StrictSchema):
    """How amounts are rounded to the minor unit of the currency."""

    tax_per = Choice(TaxPer, title="TaxPer", load_default=TaxPer.LINE.value)
    half = Choice(Half, title="Half", load_default=Half.UP.value)


class PricingSchema(StrictSchema):
    """The rules that make a quote of prices: markups, discounts, labour, charges and taxes."""

    labour_rate = DecimalText(load_default=absent)
    labour_rates = Rows(fields.Nested(LabourRateSchema), 0, MOST_RULES, load_default=list)
    price_from = Choice(PriceFrom, title="PriceFrom", load_default=PriceFrom.LIST.value)
    markups = Rows(fields.Nested(MarkupSchema), 0, MOST_RULES, load_default=list)
    unit_price_step = DecimalText(load_default=absent)
    discounts = Rows(fields.Nested(LineDiscountSchema), 0, MOST_RULES, load_default=list)
    quote_discount = fields.Nested(DiscountSchema, load_default=absent)
    freight = fields.Nested(FreightSchema, load_default=absent)
    minimum_charge = fields.Nested(MinimumSchema, load_default=absent)
    payments = Rows(fields.Nested(PaymentSchema), 0, MOST_PAYMENTS, load_default=list)
    taxes = Rows(fields.Nested(TaxSchema), 0, MOST_TAXES, load_default=list)
    untaxed = Rows(Text(40), 0, 20, load_default=list)
    prices_include_tax = YesNo(load_default=False)
    rounding = fields.Nested(RoundingSchema, load_default=absent)

"""Pricing rules in a request: what they load into, and what is refused where."""

import copy
import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from marshmallow import ValidationError

from service.api.problems import field_errors
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    FreightBand,
    Half,
    LabourRate,
    MarkupRule,
    MinimumCharge,
    PaymentTerm,
    TaxPer,
)

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
RULED = json.loads((EXAMPLES / "ruled-quote-request.json").read_text(encoding="utf-8"))


def complaints(**rules):
    body = copy.deepcopy(RULED)
    body["pricing"] |= rules
    with pytest.raises(ValidationError) as refused:
        QUOTE_REQUEST.load(body)
    return {error["pointer"]: error["detail"] for error in field_errors(refused.value.messages)}


def test_every_rule_of_the_example_is_loaded():
    rules = QUOTE_REQUEST.load(RULED).pricing
    assert rules.labour_rates == (LabourRate("", Decimal("62.00"), Decimal("41.00")),)
    assert rules.markups == (
        MarkupRule(Decimal("0.4"), of_price=True),
        MarkupRule(Decimal("0.5"), of_price=False, category="post"),
    )
    assert rules.discounts == (
        DiscountRule(Discount("Posts by the dozen", rate=Decimal("0.05")), category="post"),
    )
    assert rules.quote_discount == Discount("Spring sale", amount=Decimal("100.00"))
    pound_kg = Fraction("0.45359237")
    assert rules.freight.bands[1:] == (
        FreightBand("B", 250 * pound_kg, Decimal("95.00")),
        FreightBand("B", 1000 * pound_kg, Decimal("140.00")),
    )
    assert rules.minimum == MinimumCharge("Small order", Decimal("750.00"))
    assert rules.payments[1:] == (
        PaymentTerm("before delivery", amount=Decimal("1000.00")),
        PaymentTerm("on completion"),
    )
    assert [tax.compound for tax in rules.taxes] == [False, True]
    assert (rules.tax_per, rules.half, rules.tax_included) == (TaxPer.DOCUMENT, Half.EVEN, False)


BAND = {"zone": "B", "up_to": "250 lb", "amount": "95.00"}
OFF = {"name": "Off", "rate": "0.1"}


@pytest.mark.parametrize(
    ("rules", "place", "advice"),
    [
        pytest.param({"markups": [{}]}, "/markups/0", "either markup or margin", id="no rate"),
        pytest.param(
            {"markups": [{"markup": "1", "margin": "0.5"}]},
            "/markups/0",
            "and not both",
            id="markup and margin",
        ),
        pytest.param(
            {"markups": [{"margin": "1"}]},
            "/markups/0/margin",
            "less than the whole",
            id="margin of the whole price",
        ),
        pytest.param(
            {"markups": [{"markup": "1"}, {"markup": "2"}]},
            "/markups/1",
            "all others stands before",
            id="markup twice",
        ),
        pytest.param({"unit_price_step": "0"}, "/unit_price_step", "more than zero", id="no step"),
        pytest.param(
            {"discounts": [OFF | {"amount": "5"}]},
            "/discounts/0",
            "either rate or amount",
            id="rate and amount",
        ),
        pytest.param(
            {"discounts": [OFF | {"sku": "A"}, OFF | {"sku": "A"}]},
            "/discounts/1",
            "for A stands before",
            id="discount twice",
        ),
        pytest.param(
            {"discounts": [OFF | {"rate": "1.5"}]},
            "/discounts/0/rate",
            "fraction of one",
            id="more than everything off",
        ),
        pytest.param(
            {"quote_discount": {"name": "Off"}},
            "/quote_discount",
            "either rate or amount",
            id="nothing off",
        ),
        pytest.param(
            {"labour_rate": "60", "labour_rates": [{"rate": "62"}]},
            "/labour_rates/0",
            "name a category",
            id="two rates for all tasks",
        ),
        pytest.param(
            {"freight": {"name": "F", "zone": "C", "bands": [BAND]}},
            "/freight/zone",
            "there are bands for: B",
            id="zone without bands",
        ),
        pytest.param(
            {"freight": {"name": "F", "zone": "B", "bands": [BAND, BAND]}},
            "/freight/bands/1/up_to",
            "give each its own weight",
            id="band twice",
        ),
        pytest.param(
            {"freight": {"name": "F", "zone": "B", "bands": [BAND | {"up_to": "2 lb/ft"}]}},
            "/freight/bands/0/up_to",
            "weight of an order",
            id="weight by length",
        ),
        pytest.param(
            {"payments": [{"due": "now", "rate": "0.4"}]},
            "/payments",
            "one payment be the rest",
            id="part unpaid",
        ),
        pytest.param(
            {"payments": [{"due": "now"}, {"due": "then"}]},
            "/payments/1",
            "Only one payment",
            id="two rests",
        ),
        pytest.param(
            {"payments": [{"due": "now", "rate": "1", "amount": "5"}, {"due": "then"}]},
            "/payments/0",
            "and not both",
            id="payment of both",
        ),
        pytest.param(
            {"taxes": [{"name": "T", "rate": "0.1", "applies_to": ["goods"], "compound": True}]},
            "/taxes/0/compound",
            "stands before the first",
            id="first tax compound",
        ),
        pytest.param(
            {"rounding": {"tax_per": "quote"}}, "/rounding/tax_per", "document", id="rounding"
        ),
        pytest.param({"price_from": "net"}, "/price_from", "list, cost", id="price from"),
        pytest.param(
            {"minimum_charge": {"name": "M", "amount": "-5"}},
            "/minimum_charge/amount",
            "plain decimal",
            id="minimum below zero",
        ),
    ],
)
def test_what_is_wrong_with_a_rule_is_told_at_its_place(rules, place, advice):
    found = complaints(**rules)
    assert list(found) == [f"#/pricing{place}"]
    assert advice in found[f"#/pricing{place}"]


def test_rates_that_make_the_whole_need_no_rest():
    body = copy.deepcopy(RULED)
    halves = [{"due": "now", "rate": "0.5"}, {"due": "then", "rate": "0.5"}]
    body["pricing"]["payments"] = halves
    assert len(QUOTE_REQUEST.load(body).pricing.payments) == 2

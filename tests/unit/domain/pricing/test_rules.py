"""Each rule of pricing by pencil."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from service.domain.errors import InvalidPricing, NoPriceInForce
from service.domain.money import Money
from service.domain.pricing.dealers_view import dealers_view
from service.domain.pricing.payments import schedule
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    Freight,
    FreightBand,
    Half,
    LabourRate,
    MarkupRule,
    MinimumCharge,
    PaymentTerm,
    PriceFrom,
    PricingSettings,
    Tax,
    TaxPer,
)
from service.domain.takeoff.parts import Item, LabourItem, Packing, Weight

DAY = date(2026, 11, 25)
PLAIN = PricingSettings(None, ())
GOODS, EVERY = frozenset({"goods"}), frozenset({"goods", "labour", "charge"})


def part(sku, ordered="1", category="trim", kg=None):
    count = Decimal(ordered)
    packing = Packing(None if kg is None else Weight(Fraction(kg)))
    return Item(sku, sku, category, count, count, "C62", 1, (), packing=packing)


def table(**rows):
    """Rows by SKU: a list price, or the fields of a row."""
    made = {}
    for sku, fields in rows.items():
        fields = fields if isinstance(fields, dict) else {"list": fields}
        listed = fields.pop("list", None)
        fields = {k: Decimal(v) if k == "cost" else v for k, v in fields.items()}
        made[sku] = (PriceRow(sku, None if listed is None else Decimal(listed), "C62", **fields),)
    return PriceTable("Spring", "USD", made)


def priced(items, rows, labour=(), **rules):
    return price(items, labour, rows, replace(PLAIN, **rules), DAY)


def nets(quote):
    return [str(line.net.amount) for line in quote.lines]


def tax(rate, classes=EVERY, name="tax", **more):
    return Tax(name, Decimal(rate), frozenset(classes), **more)


MARKUPS = (
    MarkupRule(Decimal("1"), of_price=False),
    MarkupRule(Decimal("0.6"), of_price=False, category="trim"),
    MarkupRule(Decimal("0.4"), of_price=True, sku="cap"),
)


@pytest.mark.parametrize(
    ("sku", "category", "made"),
    [
        pytest.param("post", "post", "20.00", id="default: markup of 100 %"),
        pytest.param("post", "trim", "16.00", id="category before default"),
        pytest.param("cap", "trim", "16.67", id="SKU before category: 10 / 0.6, a margin of 40 %"),
    ],
)
def test_the_most_specific_markup_makes_the_price(sku, category, made):
    rows = table(**{sku: {"cost": "10"}})
    assert nets(priced([part(sku, category=category)], rows, markups=MARKUPS)) == [made]


def test_margin_is_on_the_price_and_markup_on_the_cost():
    # 60 at a margin of 40 % sells for 100; at a markup of 40 % for 84.
    rows = table(a={"cost": "60"})
    for of_price, sold in ((True, "100.00"), (False, "84.00")):
        rule = MarkupRule(Decimal("0.4"), of_price)
        assert nets(priced([part("a")], rows, markups=(rule,))) == [sold]


@pytest.mark.parametrize(
    ("first", "sold"),
    [pytest.param(PriceFrom.LIST, "30.00", id="list"), (PriceFrom.COST, "20.00")],
)
def test_which_price_goes_first(first, sold):
    rows = table(a={"list": "30", "cost": "10"}, b="5")
    quote = priced([part("a"), part("b")], rows, markups=MARKUPS[:1], price_from=first)
    assert nets(quote) == [sold, "5.00"]


def test_a_made_price_is_rounded_to_its_step_once():
    rows = table(a={"cost": "1.01"})
    rules = {"markups": (MarkupRule(Decimal("0.5"), of_price=False),)}
    assert nets(priced([part("a", "10")], rows, **rules)) == ["15.20"]  # 1.515 -> 1.52
    rules["unit_price_step"] = Decimal("0.05")
    assert nets(priced([part("a", "10")], rows, **rules)) == ["15.00"]  # 1.515 -> 1.50
    rules["unit_price_step"] = Decimal("0.001")
    assert nets(priced([part("a", "10")], rows, **rules)) == ["15.15"]


def test_a_cost_that_no_rule_covers_is_no_price():
    rows, rule = table(a={"cost": "1"}), MarkupRule(Decimal(1), of_price=False, category="post")
    with pytest.raises(NoPriceInForce, match="only the cost of a, and no markup rule") as refused:
        priced([part("a")], rows, markups=(rule,))
    assert refused.value.skus == ("a",)


def test_discounts_of_lines_then_of_the_quote():
    # 10 % of 100.00; 5.00 of 3.00 is 3.00. Then 9.99 of 90 + 0 + 30 is shared 7.4925 and 2.4975:
    # floors 7.49 and 2.49 leave a cent, and the larger remainder is the second one's.
    rules = (
        DiscountRule(Discount("Trade", rate=Decimal("0.1")), sku="a"),
        DiscountRule(Discount("Odd lot", amount=Decimal(5)), category="trim"),
    )
    quote = priced(
        [part("a"), part("b"), part("c", category="post")],
        table(a="100", b="3", c="30"),
        discounts=rules,
        quote_discount=Discount("Spring sale", amount=Decimal("9.99")),
        taxes=(tax("0.1"),),
    )
    off = [[(d.name, str(d.amount.amount)) for d in line.discounts] for line in quote.lines]
    assert off == [
        [("Trade", "10.00"), ("Spring sale", "7.49")],
        [("Odd lot", "3.00"), ("Spring sale", "0.00")],
        [("Spring sale", "2.50")],
    ]
    assert nets(quote) == ["82.51", "0.00", "27.50"]
    assert [str(line.tax.amount) for line in quote.lines] == ["8.25", "0.00", "2.75"]
    assert str(quote.totals.discount.amount) == "22.99"


def test_a_discount_of_more_than_the_quote_is_refused():
    whole = Discount("Gift", amount=Decimal("5.01"))
    with pytest.raises(InvalidPricing, match=r"Gift of 5.01 is more than the 5.00") as refused:
        priced([part("a")], table(a="5"), quote_discount=whole)
    assert refused.value.where == ("pricing", "quote_discount", "amount")


def test_labour_by_category_of_task():
    tasks = [
        LabourItem("Set posts", Decimal(60), (), "fitting"),
        LabourItem("Cut", Decimal(60), (), "shop"),
        LabourItem("Sweep", Decimal(60), ()),
    ]
    rates = (LabourRate("fitting", Decimal(80)), LabourRate("", Decimal(50)))
    quote = priced([], table(), tasks, labour_rates=rates)
    assert nets(quote) == ["80.00", "50.00", "50.00"]
    assert [line.category for line in quote.lines] == ["fitting", "shop", "labour"]
    only = priced([], table(), tasks, labour_rates=rates[:1])
    assert [line.description for line in only.lines] == ["Set posts"]


BANDS = (
    FreightBand("B", Fraction(100), Decimal(90)),
    FreightBand("B", Fraction(50), Decimal(60)),
    FreightBand("C", None, Decimal(500)),
)


@pytest.mark.parametrize(
    ("kg", "bands", "charge"),
    [
        pytest.param("50", BANDS, "60.00", id="at the end of a band"),
        pytest.param("50.001", BANDS, "90.00", id="past it"),
        pytest.param("101", (*BANDS, FreightBand("B", None, Decimal(120))), "120.00", id="beyond"),
    ],
)
def test_freight_by_zone_and_weight(kg, bands, charge):
    freight = Freight("Delivery", "B", bands)
    quote = priced([part("a", kg=kg)], table(a="1"), freight=freight, taxes=(tax("0.1"),))
    line = quote.lines[-1]
    assert (line.kind, line.category, line.description) == ("charge", "freight", "Delivery")
    assert (str(line.net.amount), quote.totals.charges) == (charge, line.net)
    assert line.tax.amount == line.net.amount / 10
    assert quote.conditions == ()


@pytest.mark.parametrize(
    ("items", "zone", "told"),
    [
        pytest.param([part("a", kg="101")], "B", "ends at 100.0 kg", id="too heavy"),
        pytest.param([part("a", kg="1"), part("b")], "B", "not known for b", id="not weighed"),
    ],
)
def test_freight_that_is_not_known_is_said_and_not_zero(items, zone, told):
    quote = priced(items, table(a="1", b="1"), freight=Freight("Delivery", zone, BANDS))
    (condition,) = quote.conditions
    assert condition.startswith("Delivery is not in this quote")
    assert told in condition
    assert all(line.kind == "goods" for line in quote.lines)


def test_an_unknown_weight_does_not_matter_where_any_weight_costs_the_same():
    quote = priced([part("b")], table(b="1"), freight=Freight("Delivery", "C", BANDS))
    assert nets(quote) == ["1.00", "500.00"]


@pytest.mark.parametrize(
    ("listed", "lift"),
    [
        pytest.param("199.99", ["0.01"], id="a cent short"),
        pytest.param("200", [], id="just enough"),
    ],
)
def test_the_minimum_lifts_goods_and_labour(listed, lift):
    freight = Freight("Delivery", "C", BANDS)
    minimum = MinimumCharge("Small order", Decimal(200))
    quote = priced([part("a")], table(a=listed), minimum=minimum, freight=freight)
    lifts = [str(line.net.amount) for line in quote.lines if line.category == "minimum"]
    assert lifts == lift


def test_tax_by_class_of_the_row_and_of_the_charge():
    quote = priced(
        [part("a"), part("b"), part("c")],
        table(a="100", b={"list": "100", "tax_class": "reduced"}, c="100"),
        freight=Freight("Delivery", "C", BANDS, tax_class="carriage"),
        taxes=(tax("0.2", {"goods"}, "full"), tax("0.05", {"reduced", "carriage"}, "low")),
    )
    assert [[t.name for t in line.taxes] for line in quote.lines] == [
        ["full"],
        ["low"],
        ["full"],
        ["low"],
    ]
    assert [str(t.amount.amount) for t in quote.totals.taxes] == ["40.00", "30.00"]


def test_a_class_of_which_nothing_says_whether_it_is_taxed_is_refused():
    rows = table(a={"list": "1", "tax_class": "exmept"})
    with pytest.raises(InvalidPricing, match="'exmept' of a"):
        priced([part("a")], rows, taxes=(tax("0.2"),))
    assert nets(priced([part("a")], rows, taxes=(tax("0.2"),), untaxed=frozenset({"exmept"})))
    assert nets(priced([part("a")], rows)) == ["1.00"]  # no tax is reckoned at all


def test_a_tax_on_a_class_that_nothing_bears_is_refused():
    with pytest.raises(InvalidPricing, match="has the tax class good"):
        priced([part("a")], table(a="1"), taxes=(tax("0.2", {"good"}),))


def test_rounding_half_to_even():
    rows = table(a="0.125", b="0.135")
    assert nets(priced([part("a"), part("b")], rows)) == ["0.13", "0.14"]
    assert nets(priced([part("a"), part("b")], rows, half=Half.EVEN)) == ["0.12", "0.14"]


def test_rates_of_payments_share_the_gross_by_largest_remainder():
    thirds = tuple(PaymentTerm(f"{n}", rate=r) for n, r in enumerate(map(Decimal, THIRDS)))
    terms = replace(PLAIN, payments=thirds)
    parts = schedule(Money(Decimal("100.00"), "USD"), terms)
    assert [str(part.amount.amount) for part in parts] == ["33.33", "33.33", "33.34"]


THIRDS = ("0.333333", "0.333333", "0.333334")


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        pytest.param([("0.5", None), ("0.4", None)], "add up to 0.9, not to 1", id="too little"),
        pytest.param([(None, "60"), (None, None), (None, "50")], "come to 110.00", id="too much"),
        pytest.param([(None, "60")], "leave 40.00 of the gross unpaid", id="no rest"),
    ],
)
def test_payments_that_do_not_come_to_the_gross_are_refused(parts, told):
    def number(text):
        return None if text is None else Decimal(text)

    given = tuple(PaymentTerm("then", number(rate), number(amount)) for rate, amount in parts)
    with pytest.raises(InvalidPricing, match=told):
        schedule(Money(Decimal("100.00"), "USD"), replace(PLAIN, payments=given))


def test_the_dealers_view_by_pencil():
    # a: 3 x 10 sold, 3 x 6 cost: margin 12 of 30, 0.4. b: its cost is not said. An hour: 50 - 30.
    rates = (LabourRate("", Decimal(50), Decimal(30)),)
    rules = {"labour_rates": rates, "minimum": MinimumCharge("Small order", Decimal(100))}
    quote = priced(
        [part("a", "3"), part("b")],
        table(a={"list": "10", "cost": "6"}, b="5"),
        [LabourItem("Fit", Decimal(60), ())],
        **rules,
    )
    view = dealers_view(quote, replace(PLAIN, **rules))
    a, b, hour, lift = view.costs.lines
    assert (a.margin.cost, a.margin.margin) == (Money(Decimal("18.00"), "USD"), usd("12.00"))
    assert (a.margin.rate, hour.margin.rate) == (Decimal("0.4000"), Decimal("0.4000"))
    assert (b.unit_cost, b.margin, view.costs.unknown) == (None, None, ("b",))
    assert (lift.margin.cost, lift.margin.margin) == (usd("0.00"), usd("15.00"))
    assert (view.costs.total.cost, view.costs.total.net) == (usd("48.00"), usd("95.00"))
    # Below the minimum no price moves the total.
    assert {driver.moves for driver in view.drivers} == {usd("0.00")}


def usd(amount):
    return Money(Decimal(amount), "USD")


def test_what_drives_the_total_by_pencil():
    # 1 % of 300.00 is 3.00 and its tax 0.60; of 1.00 it is 0.01, and its tax stays at 0.20.
    rules = {"taxes": (tax("0.2"),), "labour_rate": Decimal(50)}
    quote = priced(
        [part("small"), part("big", "3")],
        table(small="1", big="100"),
        [LabourItem("Fit", Decimal(60), ())],
        **rules,
    )
    drivers = dealers_view(quote, replace(PLAIN, **rules)).drivers
    assert [(d.kind, d.name, str(d.moves.amount), str(d.share)) for d in drivers] == [
        ("goods", "big", "3.60", "0.8547"),
        ("labour", "labour", "0.60", "0.1425"),
        ("goods", "small", "0.01", "0.0028"),
    ]


def test_the_document_may_be_rounded_once():
    rules = {"taxes": (tax("0.06"),)}
    items, rows = [part(sku) for sku in "abc"], table(a="1.77", b="1.77", c="1.77")
    assert str(priced(items, rows, **rules).totals.tax.amount) == "0.33"
    whole = priced(items, rows, tax_per=TaxPer.DOCUMENT, **rules)
    assert str(whole.totals.tax.amount) == "0.32"
    assert [str(line.tax.amount) for line in whole.lines] == ["0.11", "0.11", "0.10"]


def test_a_price_just_below_the_bound_of_a_line_has_a_dealers_view():
    quote = priced([part("A")], table(A="999999999999.99"))
    (driver,) = dealers_view(quote, PLAIN).drivers
    assert driver.moves == Money(Decimal("10000000000.00"), "USD")

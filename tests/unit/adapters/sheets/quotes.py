"""Quotes as the service answers them, for what is written from them."""

import json
import random
from datetime import date
from decimal import Context, Decimal
from pathlib import Path

from service.api.presenters.quote import present_terms
from service.api.presenters.quote_money import present_lines, present_totals
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    Half,
    MinimumCharge,
    PricingSettings,
    Tax,
    TaxPer,
)
from service.domain.takeoff.parts import Item, LabourItem
from service.usecases.orders import Units

ROOT = Path(__file__).parents[4]
EXACT = Context(prec=60)


def small():
    return json.loads((ROOT / "tests/golden/small_quote.json").read_text("utf-8"))


def answered():
    """Every quote among the examples."""
    examples = sorted((ROOT / "openapi/examples").glob("*quote-response.json"))
    return [json.loads(path.read_text("utf-8")) for path in examples]


def hostile(text):
    """The small quote with one text wherever a caller may write one."""
    quote = small()
    quote["reference"] = quote["price_table"]["name"] = quote["layout"]["system"] = text
    for line in quote["lines"]:
        line["description"], line["sku"], line["elements"] = text, text, [text, "P1"]
    quote["totals"]["taxes"][0]["name"] = text
    for line in quote["lines"]:
        for tax in line["taxes"]:
            tax["name"] = text
    quote["takeoff"] = {
        "items": [
            {"sku": text, "description": text, "category": text, "needed": "2", "waste": "0",
             "ordered": "2", "unit_of_measure": "C62", "pack_size": 1, "length": None,
             "weight": None, "elements": [text]}
        ],
        "labour": [{"task": text, "hours": "0.5", "elements": []}],
        "notes": [text],
    }  # fmt: skip
    plan = quote["cut_plans"][0]
    plan["material"] = plan["bars"][0]["sku"] = plan["bars"][0]["cuts"][0]["piece"] = text
    quote["compliance"]["findings"][0]["element"] = text
    return quote


def of_products(products, currency="USD", rates=(), exempt_from=None, hours=(), **rules):
    """A quote of lines with these quantities and unit prices, priced by the service.

    Args:
        products: Quantity and unit price of each line of goods.
        currency: Of all of them.
        rates: Of taxes on goods, "tax 1", "tax 2", ...
        exempt_from: Lines after this one bear no tax.
        hours: Labour at 62.50, in hours.
        rules: Further pricing settings.
    """
    items, rows = [], {}
    for number, (quantity, unit_price) in enumerate(products, start=1):
        sku = f"A-{number}"
        exempt = exempt_from is not None and number > exempt_from
        rows[sku] = (PriceRow(sku, unit_price, "C62", tax_class="exempt" if exempt else ""),)
        items.append(Item(sku, f"Part {number}", "trim", quantity, quantity, "C62", 1, ("P1",)))
    given = rules.pop("taxes", None)
    taxes = given or tuple(
        Tax(f"tax {i}", rate, frozenset({"goods"})) for i, rate in enumerate(rates, start=1)
    )
    settings = PricingSettings(
        Decimal("62.50"),
        taxes,
        untaxed=frozenset({"charge", "exempt"} if exempt_from else {"charge"}),
        **rules,
    )
    tasks = [LabourItem(f"Task {i}", Decimal(h) * 60, ()) for i, h in enumerate(hours, start=1)]
    priced = price(items, tasks, PriceTable("List", currency, rows), settings, date(2026, 11, 25))
    quote = small()
    quote["price_table"]["currency"] = currency
    return quote | {
        "terms": present_terms(settings),
        "totals": present_totals(priced.totals),
        "lines": present_lines(priced.lines, Units.METRIC),
        "conditions": list(priced.conditions),
    }


DISCOUNTED = {
    "discounts": (DiscountRule(Discount("Trade", rate=Decimal("0.075"))),),
    "quote_discount": Discount("Spring", amount=Decimal("5.55")),
    "minimum": MinimumCharge("Least charge", Decimal("2000")),
}
GOODS = frozenset({"goods"})
COMPOUND = (
    Tax("federal", Decimal("0.05"), GOODS),
    Tax("provincial", Decimal("0.09975"), GOODS, compound=True),
)
PRODUCTS = [(Decimal(q), Decimal(p)) for q, p in (("3", "12.35"), ("7.5", "9.99"), ("1", "0.115"))]


def of_rules():
    """Quotes under every rule of pricing that changes what a line comes to, by name."""
    rate = (Decimal("0.0625"),)
    both = {"hours": ("2.5", "0.75"), **DISCOUNTED}
    return {
        "discounts and a minimum": of_products(PRODUCTS, "USD", rate, **both),
        "half to even": of_products(PRODUCTS, "USD", rate, half=Half.EVEN),
        "tax per document": of_products(PRODUCTS, "USD", rate, tax_per=TaxPer.DOCUMENT, **both),
        "tax included": of_products(PRODUCTS, "EUR", rate, tax_included=True, **both),
        "compound": of_products(PRODUCTS, "CAD", taxes=COMPOUND, **both),
    }


def halves(count, step, seed=1, digits=14):
    """Quantities and prices whose product, of so few digits, lies halfway between two amounts."""
    draw = random.Random(seed)
    found = []
    while len(found) < count:
        quantity = Decimal(draw.randrange(1, 10 ** draw.randint(1, 6))).scaleb(-draw.randint(0, 3))
        price = Decimal(draw.randrange(1, 10 ** draw.randint(1, 9))).scaleb(-draw.randint(0, 6))
        product = EXACT.multiply(quantity, price)
        few = len(product.normalize().as_tuple().digits) <= digits
        if few and product < 10**12 and product % step == step / 2:
            found.append((quantity, price))
    return found

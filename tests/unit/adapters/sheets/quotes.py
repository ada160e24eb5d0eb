"""Quotes as the service answers them, for what is written from them."""

import copy
import json
import random
from decimal import Context, Decimal
from pathlib import Path

from service.api.presenters.values import decimal, money
from service.domain.money import Money, minor_unit

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


def of_products(products, currency="USD", rates=(), labour_from=None):
    """A quote of lines with these quantities and unit prices, priced by the service's own rule."""
    quote = small()
    lines, taxed = [], {rate: Money(Decimal(0), currency).rounded() for rate in rates}
    sums = {kind: Money(Decimal(0), currency).rounded() for kind in ("goods", "labour")}
    for number, (quantity, price) in enumerate(products, start=1):
        kind = "labour" if labour_from is not None and number > labour_from else "goods"
        net = Money(EXACT.multiply(quantity, price), currency).rounded()
        borne = [(rate, (net * rate).rounded()) for rate in rates if kind == "goods"]
        for rate, amount in borne:
            taxed[rate] = taxed[rate] + amount
        sums[kind] = sums[kind] + net
        lines.append(_line(number, kind, quantity, Money(price, currency), net, borne))
    quote["lines"] = lines
    tax = sum(
        (amount.amount for amount in taxed.values()), Decimal(0).quantize(minor_unit(currency))
    )
    net = sums["goods"] + sums["labour"]
    quote["totals"] = {
        **{kind: money(amount) for kind, amount in sums.items()},
        "net": money(net),
        "taxes": [_tax(rate, amount) for rate, amount in taxed.items()],
        "tax": money(Money(tax, currency)),
        "gross": money(net + Money(tax, currency)),
    }
    quote["price_table"]["currency"] = currency
    return quote


def _tax(rate, amount):
    return {"name": f"Tax {rate}", "rate": decimal(rate), "amount": money(amount)}


def _line(number, kind, quantity, price, net, borne):
    tax = sum((amount.amount for _, amount in borne), net.amount * 0)
    line = copy.deepcopy(small()["lines"][0])
    line |= {
        "number": number, "kind": kind, "quantity": decimal(quantity),
        "unit_price": money(price), "net": money(net),
        "tax": money(Money(tax, net.currency).rounded()),
        "taxes": [_tax(rate, amount) for rate, amount in borne],
    }  # fmt: skip
    return line


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

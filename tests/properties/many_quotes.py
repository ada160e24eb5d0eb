"""Random kept orders, tables and rules, and what ``price_again`` makes of them."""

from dataclasses import replace
from decimal import Decimal

import numpy as np

from service.domain.errors import NoPriceInForce, QuotingError
from service.domain.money import minor_unit
from service.domain.pricing.again import price_again
from service.domain.pricing.costs import costs_of
from service.domain.pricing.many.chunk import Came, Chunk
from service.domain.pricing.many.price_many import price_many
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.settings import DiscountRule, MarkupRule, PaymentTerm
from tests.properties.test_pricing_rules import (
    CATEGORIES,
    CURRENCIES,
    DAY,
    discount,
    money,
    rate,
    settings_of,
)

SKUS = [f"A{n}" for n in range(10)]
SUMS = ("gross", "net", "tax", "discount", "cost", "cost_net")


def parts_of(rng):
    goods = [
        Part("goods", sku, "", rng.choice(CATEGORIES), "C62", rng.choice([1, 1, 10]), "")
        for sku in SKUS
    ]
    labour = [
        Part("labour", "", f"T{n}", rng.choice(["", "fitting"]), "HUR", None, "") for n in range(3)
    ]
    return [*goods, *labour, Part("charge", "", "Carriage", "freight", "C62", None, "charge")]


def row(rng, part, least=Decimal(0)):
    has_cost = rng.random() < 0.7
    listed = money(rng, 90) if rng.random() < 0.8 or not has_cost else None
    return PriceRow(
        part.sku,
        listed,
        "MTR" if rng.random() < 0.01 else "C62",
        cost=money(rng, 60) if has_cost else None,
        min_quantity=least,
        pack_size=rng.choice([None, part.pack_size, 5 if rng.random() < 0.03 else None]),
        tax_class=rng.choice(["", "", "reduced", "exempt"]),
    )


def table_of(rng, parts, currency):
    """Parts with one row, with breaks, from some quantity on only, or with none."""
    rows = {}
    for part in parts:
        if part.kind != "goods" or rng.random() < 0.02:
            continue
        breaks = [Decimal(0)] if rng.random() < 0.95 else [Decimal(3)]
        if rng.random() < 0.3:
            breaks += [Decimal(rng.randrange(1, 200)), Decimal(rng.randrange(1, 4000)).scaleb(-1)]
        rows[part.sku] = tuple(row(rng, part, least) for least in breaks)
    for name in ("reduced", "exempt") if rng.random() < 0.95 else ():
        rows[name] = (PriceRow(name, None, "C62", tax_class=name),)
    return PriceTable("any", currency, rows)


def rules_of(rng):
    rules = settings_of(rng)
    if rng.random() < 0.4:
        rules = replace(rules, discounts=(*rules.discounts, DiscountRule(discount(rng), sku="A1")))
    if rng.random() < 0.3:
        rules = replace(rules, markups=(MarkupRule(rate(rng), of_price=False, sku="A2"),))
    if rng.random() < 0.1:
        down = PaymentTerm("on order", amount=money(rng, 2000))
        rules = replace(rules, payments=(down, PaymentTerm("on completion")))
    if rng.random() < 0.05:
        rules = replace(rules, untaxed=frozenset())
    return rules


def quantity(rng):
    few = Decimal(rng.choice([0, 1, 2, 3, 50, 100, 199]))
    return rng.choice([few, Decimal(rng.randrange(400)), Decimal(rng.randrange(10**6)).scaleb(-4)])


def quote_of(rng, parts, currency, oddly):
    """Goods, labour and charges; seldom in disorder, repeated, huge or too fine."""
    step = minor_unit(currency)
    goods = rng.sample(parts[: len(SKUS)], rng.randrange(len(SKUS)))
    labour = rng.sample(parts[len(SKUS) : -1], rng.randrange(4))
    lines = [MaterialLine(part, quantity(rng), money(rng, 900).quantize(step)) for part in goods]
    lines += [
        MaterialLine(part, Decimal(rng.randrange(4000)).scaleb(-2), Decimal(0)) for part in labour
    ]
    if rng.random() < 0.5:
        lines.append(MaterialLine(parts[-1], Decimal(1), money(rng, 90).quantize(step)))
    if lines and rng.random() < oddly:
        n = rng.randrange(len(lines))
        huge = Decimal(10) ** rng.randrange(6, 12)
        lines = rng.choice(
            [
                lambda: lines[::-1],
                lambda: [*lines[:n], lines[n], *lines[n:]],
                lambda: [*lines[:n], replace(lines[n], quantity=huge), *lines[n + 1 :]],
            ]
        )()
    return lines


def job_of(rng, quotes=25, oddly=0.04):
    currency = rng.choice(CURRENCIES)
    parts = parts_of(rng)
    table = table_of(rng, parts, currency)
    kept = [quote_of(rng, parts, currency, oddly) for _ in range(quotes)]
    return kept, parts, table, rules_of(rng)


def units(amount, currency):
    exact = amount / minor_unit(currency)
    assert exact == int(exact)
    return int(exact)


def chunk_of(quotes, parts, currency):
    number = {part: n for n, part in enumerate(parts)}
    lines = [line for quote in quotes for line in quote]
    return Chunk(
        np.cumsum([0, *map(len, quotes)], dtype=np.int64),
        np.array([number[line.part] for line in lines], np.int64),
        np.array([int(line.quantity * 10**6) for line in lines], np.int64),
        np.array([units(line.amount, currency) for line in lines], np.int64),
    )


def alone(quote, table, rules):
    """What one quote comes to by ``price_again``, in the terms of many."""
    currency = table.currency
    try:
        priced = price_again(quote, table, rules, DAY, currency)
    except NoPriceInForce as error:
        return Came.NO_PRICE, error.skus, [0] * 6
    except QuotingError as error:
        return Came.REFUSED, error.detail, [0] * 6
    costs = costs_of(priced.drafts, priced.lines, currency, rules.half).total
    totals = priced.totals
    sums = [totals.gross, totals.net, totals.tax, totals.discount, costs.cost, costs.net]
    lines = priced.lines[: len(priced.drafts) + len(priced.charges)]
    return Came.PRICED, lines, [units(money.amount, currency) for money in sums]


def check(quotes, parts, table, rules):
    """Hold many against each alone; give what they came to."""
    prices = ManyPrices(parts, table, rules, DAY, table.currency)
    chunk = chunk_of(quotes, parts, table.currency)
    many = price_many(chunk, prices)
    for n, quote in enumerate(quotes):
        came, told, sums = alone(quote, table, rules)
        assert (Came(many.came[n]), [int(getattr(many, name)[n]) for name in SUMS]) == (came, sums)
        assert many.skus.get(n) == (told if came is Came.NO_PRICE else None)
        assert many.refusals.get(n) == (told if came is Came.REFUSED else None)
        found = many.amounts[chunk.offsets[n] : chunk.offsets[n + 1]].tolist()
        if came is not Came.PRICED:
            assert not any(found)
            continue
        ranks = ["goods", "labour", "charge"]
        order = sorted(range(len(quote)), key=lambda k: ranks.index(quote[k].part.kind))
        charged = [
            k for k in order if quote[k].part.kind != "labour" or rules.hour(quote[k].part.category)
        ]
        assert [found[k] for k in charged] == [
            units(line.amount.amount, table.currency) for line in told
        ]
        assert not any(found[k] for k in set(order) - set(charged))
    return many

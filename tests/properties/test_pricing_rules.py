"""Whatever rules a dealer declares, the lines of a quote add up to what is asked and paid.

Every rule is drawn at random; what must hold is reckoned here in ratios, without the functions
that are tested.
"""

import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.errors import InvalidPricing
from service.domain.money import minor_unit
from service.domain.pricing.amounts import share_out
from service.domain.pricing.bare_gross import BareGross
from service.domain.pricing.dealers_view import dealers_view
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
CURRENCIES = ["USD", "CAD", "EUR", "JPY", "KWD", "CLF"]
CLASSES = ["goods", "labour", "charge", "reduced", "exempt"]
CATEGORIES = ["post", "rail", "trim"]


def money(rng, most):
    return Decimal(rng.randrange(most * 10**4)).scaleb(-4)


def rate(rng):
    return Decimal(rng.randrange(10**6)).scaleb(-6)


def items_of(rng):
    for n in range(rng.randrange(8)):
        ordered = Decimal(rng.randrange(1, 400))
        packing = Packing(Weight(Fraction(rng.randrange(1, 90), 7)) if rng.random() < 0.8 else None)
        yield Item(
            f"A{n}", "", rng.choice(CATEGORIES), ordered, ordered, "C62", 1, (), packing=packing
        )


def rows_of(rng, items):
    for item in items:
        has_cost = rng.random() < 0.7
        listed = money(rng, 90) if rng.random() < 0.7 or not has_cost else None
        cost = money(rng, 60) if has_cost else None
        tax_class = rng.choice(["", "reduced", "exempt"])
        yield item.sku, (PriceRow(item.sku, listed, "C62", cost=cost, tax_class=tax_class),)


def discount(rng):
    if rng.random() < 0.6:
        return Discount("off", rate=rate(rng))
    return Discount("off", amount=money(rng, 40))


def payments_of(rng):
    if rng.random() < 0.3:
        return ()
    if rng.random() < 0.5:
        parts = [rng.randrange(1, 50) for _ in range(rng.randrange(1, 5))]
        rates = share_out(Decimal(1), [Decimal(p) for p in parts], Decimal("0.000001"))
        return tuple(PaymentTerm(f"part {n}", rate=r) for n, r in enumerate(rates))
    return (PaymentTerm("on order", rate=rate(rng)), PaymentTerm("on completion"))


def settings_of(rng):
    def now_and_then(make):
        return make() if rng.random() < 0.5 else None

    bands = (FreightBand("B", Fraction(900), money(rng, 90)), FreightBand("B", None, Decimal(200)))
    taxes = tuple(
        Tax(
            f"tax {n}",
            rate(rng) / rng.choice([1, 10]),
            frozenset(rng.sample(CLASSES, rng.randrange(1, 5))),
            compound=n > 0 and rng.random() < 0.5,
        )
        for n in range(rng.randrange(4))
    )
    return PricingSettings(
        labour_rate=now_and_then(lambda: money(rng, 90)),
        taxes=taxes,
        markups=(
            MarkupRule(rate(rng), of_price=False),
            MarkupRule(rate(rng), of_price=True, category="rail"),
        ),
        price_from=rng.choice(list(PriceFrom)),
        unit_price_step=rng.choice([None, Decimal("0.05"), Decimal("0.001")]),
        labour_rates=(LabourRate("fitting", money(rng, 90), money(rng, 50)),),
        discounts=tuple(
            DiscountRule(discount(rng), category=c) for c in rng.sample(["", "post", "labour"], 2)
        ),
        quote_discount=now_and_then(lambda: discount(rng)),
        freight=now_and_then(lambda: Freight("Carriage", "B", bands)),
        minimum=now_and_then(lambda: MinimumCharge("Minimum", money(rng, 9000))),
        payments=payments_of(rng),
        untaxed=frozenset(CLASSES),
        tax_included=rng.random() < 0.5,
        tax_per=rng.choice(list(TaxPer)),
        half=rng.choice(list(Half)),
    )


def job_of(rng):
    items = list(items_of(rng))
    labour = [
        LabourItem(f"T{n}", money(rng, 900), (), rng.choice(["", "fitting"]))
        for n in range(rng.randrange(4))
    ]
    currency = rng.choice(CURRENCIES)
    table = PriceTable("any", currency, dict(rows_of(rng, items)))
    if not any(row.tax_class == "reduced" for rows in table.rows.values() for row in rows):
        table = replace(
            table, rows={**table.rows, "Z": (PriceRow("Z", None, "C62", tax_class="reduced"),)}
        )
    exempt = PriceRow("Y", None, "C62", tax_class="exempt")
    table = replace(table, rows={**table.rows, "Y": (exempt,)})
    return items, labour, table, settings_of(rng), DAY


def nearest(exact: Fraction, step: Decimal, half: Half) -> Decimal:
    """Round a ratio by integers."""
    units = exact / Fraction(step)
    down = units.numerator // units.denominator
    rest = units - down
    tie = rest == Fraction(1, 2)
    up = (half is Half.UP or down % 2 == 1) if tie else rest > Fraction(1, 2)
    return (down + up) * step


def added(values):
    return sum((value.amount for value in values), start=Decimal(0))


def check_lines(priced, terms, step):
    for line in priced.lines:
        exact = Fraction(line.quantity) * Fraction(line.unit_price.amount)
        assert line.amount.amount == nearest(exact, step, terms.half)
        left = line.amount.amount - added(off.amount for off in line.discounts)
        assert left >= 0
        assert (line.gross if terms.tax_included else line.net).amount == left
        assert line.gross == line.net + line.tax
        assert line.gross.amount % step == 0
        assert line.net.amount % step == 0


def check_totals(priced, terms):
    lines, totals = priced.lines, priced.totals
    for kind, name in (("goods", "goods"), ("labour", "labour"), ("charge", "charges")):
        of_kind = added(line.net for line in lines if line.kind == kind)
        assert getattr(totals, name).amount == of_kind
    assert totals.net.amount == added(line.net for line in lines)
    assert totals.tax.amount == added(line.tax for line in lines)
    assert totals.gross.amount == added(line.gross for line in lines)
    assert totals.gross == totals.net + totals.tax
    assert totals.tax.amount == added(tax.amount for tax in totals.taxes)
    assert totals.discount.amount == added(off.amount for line in lines for off in line.discounts)
    if terms.payments:
        assert added(payment.amount for payment in priced.payments) == totals.gross.amount
        assert all(payment.amount.amount >= 0 for payment in priced.payments)


def check_taxes(priced, terms, step):
    """Each component against its own base, per line or on the document."""
    before: dict[int, list] = {line.number: [] for line in priced.lines}
    for n, tax in enumerate(terms.taxes):
        exact, taken = [], []
        for line in priced.lines:
            if line.tax_class not in tax.applies_to:
                continue
            if terms.tax_included:
                exact.append(held(line, terms, n))
            else:
                earlier = before[line.number] if tax.compound else []
                base = line.net.amount + sum(earlier, Decimal(0))
                exact.append(Fraction(base) * Fraction(tax.rate))
            (mine,) = [t.amount.amount for t in line.taxes if t.name == tax.name]
            taken.append(mine)
            before[line.number].append(mine)
        if terms.tax_per is TaxPer.LINE:
            assert taken == [nearest(due, step, terms.half) for due in exact]
        else:
            assert sum(taken, Decimal(0)) == nearest(sum(exact, Fraction(0)), step, terms.half)
            assert all(abs(Fraction(t) - e) < step for t, e in zip(taken, exact, strict=True))


def held(line, terms, n):
    """What component n holds of a price, from the definition: net + all its taxes = price."""
    parts = []
    for tax in terms.taxes:
        base = 1 + (sum(parts) if tax.compound else 0)
        parts.append(Fraction(tax.rate) * base if line.tax_class in tax.applies_to else Fraction(0))
    return Fraction(line.gross.amount) * parts[n] / (1 + sum(parts))


def check_discounts_and_minimum(priced, terms, step):
    own = [line for line in priced.lines if line.kind != "charge"]
    lifts = [line for line in priced.lines if line.category == "minimum"]
    left = [line.amount.amount - added(d.amount for d in line.discounts) for line in own]
    if terms.quote_discount and terms.quote_discount.rate is not None and own:
        shares = [line.discounts[-1].amount.amount for line in own]
        base = sum(left, Decimal(0)) + sum(shares, Decimal(0))
        exact = Fraction(base) * Fraction(terms.quote_discount.rate)
        assert sum(shares, Decimal(0)) == nearest(exact, step, terms.half)
    if terms.minimum:
        lacking = max(terms.minimum.amount - sum(left, Decimal(0)), Decimal(0))
        charged = [line.amount.amount for line in lifts]
        assert charged == ([nearest(Fraction(lacking), step, terms.half)] if lacking else [])


def check(job):
    """Price a job and hold every sum; tell whether it could be priced."""
    items, labour, table, terms, _ = job
    try:
        priced = price(*job)
    except InvalidPricing as error:
        if not error.detail.startswith("The discount off of"):
            raise
        return False
    step = minor_unit(table.currency)
    charged = [task for task in labour if terms.hour(task.category)]
    assert [line.number for line in priced.lines] == list(range(1, len(priced.lines) + 1))
    assert len([x for x in priced.lines if x.kind != "charge"]) == len(items) + len(charged)
    check_lines(priced, terms, step)
    check_totals(priced, terms)
    check_taxes(priced, terms, step)
    check_discounts_and_minimum(priced, terms, step)
    bare = BareGross(priced.drafts, priced.charges, terms, table.currency)
    left = [bare.left(draft, draft.unit_price) for draft in priced.drafts]
    assert bare.of(left) == priced.totals.gross.amount
    return True


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.randoms(use_true_random=False))
def test_any_quote_adds_up(rng):
    check(job_of(rng))


def test_ten_thousand_quotes_add_up():
    rng = random.Random(20261125)
    priced = sum(check(job_of(rng)) for _ in range(10_000))
    assert priced > 9_000


LINKS = {
    "any rules": lambda terms: terms,
    "no line touches another": lambda terms: replace(
        terms, quote_discount=None, minimum=None, tax_per=TaxPer.LINE
    ),
    "a discount of the quote": lambda terms: replace(
        terms, quote_discount=Discount("off", rate=Decimal("0.1"))
    ),
    "a minimum": lambda terms: replace(
        terms, minimum=MinimumCharge("Minimum", Decimal("99999.995"))
    ),
    "taxes on the document": lambda terms: replace(
        terms, tax_per=TaxPer.DOCUMENT, tax_included=False
    ),
}


@pytest.mark.parametrize("link", LINKS)
def test_what_moves_the_total_is_what_pricing_again_gives(link):
    """Raise each price where it is declared, and price everything from the start."""
    rng = random.Random(7)
    moved = {"goods": 0, "labour": 0}
    for _ in range(80):
        items, labour, table, terms, day = job_of(rng)
        terms = replace(LINKS[link](terms), payments=())
        try:
            priced = price(items, labour, table, terms, day)
        except InvalidPricing:  # more money off than there is
            continue
        for driver in dealers_view(priced, terms).drivers:
            rows, rules = table.rows, terms
            if driver.kind == "goods":
                rows = {**rows, driver.name: tuple(map(risen, rows[driver.name]))}
            else:
                rules = with_dearer_hours(terms, driver.name)
            again = price(items, labour, replace(table, rows=rows), rules, day)
            expected = again.totals.gross.amount - priced.totals.gross.amount
            assert driver.moves.amount == expected
            moved[driver.kind] += expected != 0
    assert moved["goods"] > (0 if link == "a minimum" else 50)
    assert moved["labour"] > (0 if link == "a minimum" else 10)


def with_dearer_hours(terms, category):
    if category == "labour":
        return replace(terms, labour_rate=terms.labour_rate * Decimal("1.01"))
    rates = (replace(rate, rate=rate.rate * Decimal("1.01")) for rate in terms.labour_rates)
    return replace(terms, labour_rates=tuple(rates))


def risen(row):
    up = Decimal("1.01")
    return replace(
        row,
        unit_price=None if row.unit_price is None else row.unit_price * up,
        cost=None if row.cost is None else row.cost * up,
    )


@given(
    st.integers(0, 10**9),
    st.lists(st.integers(0, 10**6), min_size=1, max_size=30).filter(any),
)
def test_what_is_shared_out_adds_up_and_stays_within_a_unit(units, weights):
    step = Decimal("0.01")
    whole = units * step
    shares = share_out(whole, [Decimal(weight) for weight in weights], step)
    assert sum(shares, Decimal(0)) == whole
    for share, weight in zip(shares, weights, strict=True):
        exact = Fraction(whole) * Fraction(weight, sum(weights))
        assert abs(Fraction(share) - exact) < Fraction(step)
        assert weight or not share

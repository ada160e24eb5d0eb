"""What pricing many kept orders at once takes, beside pricing them one by one.

    python -m tests.benchmarks.bench_repricing_kernel

10,000 quotes of 20 lines under three sets of rules; a sample of them is priced one by one in the
same run, and only the ratio means anything on another machine. Nothing is read or written.
"""

import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from time import process_time

import numpy as np

from service.domain.pricing.again import price_again
from service.domain.pricing.many.chunk import Chunk
from service.domain.pricing.many.price_many import material_line, price_many
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.material import Part
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    Half,
    LabourRate,
    MinimumCharge,
    PricingSettings,
    Tax,
    TaxPer,
)

QUOTES, LINES, SKUS = 10_000, 20, 400
SAMPLE, ROUNDS = 300, 7
GOAL = 200_000
DAY = date(2026, 11, 25)

_EVERY = frozenset({"goods", "labour", "charge"})
_RATES = (LabourRate("", Decimal("68.00"), Decimal("41.50")),)
PLAIN = PricingSettings(None, (Tax("Sales", Decimal("0.0725"), _EVERY),), labour_rates=_RATES)
RULED = replace(
    PLAIN,
    taxes=(
        Tax("State", Decimal("0.0485"), frozenset({"goods"})),
        Tax("City", Decimal("0.01"), _EVERY),
    ),
    discounts=(DiscountRule(Discount("rails", rate=Decimal("0.05")), category="rail"),),
    quote_discount=Discount("spring", rate=Decimal("0.03")),
    minimum=MinimumCharge("Small order", Decimal(900)),
)
HELD = replace(
    RULED,
    tax_included=True,
    tax_per=TaxPer.DOCUMENT,
    half=Half.EVEN,
    taxes=(
        Tax("First", Decimal("0.05"), _EVERY),
        Tax("Second", Decimal("0.095"), _EVERY, compound=True),
    ),
)


def material(rng: random.Random) -> tuple[list[Part], Chunk]:
    """Draw quotes of goods, two tasks and carriage."""
    parts = [
        Part("goods", f"S{n}", "", rng.choice(["post", "rail", "trim"]), "C62", 1, "")
        for n in range(SKUS)
    ]
    parts += [Part("labour", "", f"T{n}", "", "HUR", None, "") for n in range(8)]
    parts += [Part("charge", "", "Carriage", "freight", "C62", None, "charge")]
    numbers, quantities, amounts = [], [], []
    for _ in range(QUOTES):
        numbers += [*rng.sample(range(SKUS), LINES - 3), SKUS + rng.randrange(4), SKUS + 4]
        numbers += [SKUS + 8]
        quantities += [rng.randrange(1, 300) * 10**6 for _ in range(LINES - 3)]
        quantities += [rng.randrange(3000) * 10**4 for _ in range(2)] + [10**6]
        amounts += [rng.randrange(90_000) for _ in range(LINES)]
    offsets = np.arange(0, QUOTES * LINES + 1, LINES, dtype=np.int64)
    return parts, Chunk(offsets, *(np.array(a, np.int64) for a in (numbers, quantities, amounts)))


def table(rng: random.Random) -> PriceTable:
    """Draw prices; a quarter of the parts has two quantity breaks."""
    rows = {}
    for n in range(SKUS):
        price = Decimal(rng.randrange(20, 20_000)).scaleb(-2)
        breaks = [(0, 1), (50, Decimal("0.95")), (200, Decimal("0.9"))][: 3 if n % 4 == 0 else 1]
        rows[f"S{n}"] = tuple(
            PriceRow(f"S{n}", price * off, "C62", cost=price / 2, min_quantity=Decimal(least))
            for least, off in breaks
        )
    return PriceTable("bench", "USD", rows)


def main() -> None:
    """Print quotes per second of both ways, and the ratio."""
    rng = random.Random(7)
    parts, chunk = material(rng)
    prices_of = table(rng)
    for name, rules in (("plain", PLAIN), ("discounts, minimum", RULED), ("tax held", HELD)):
        prices = ManyPrices(parts, prices_of, rules, DAY, "USD")
        kept = [
            [material_line(line, chunk, prices) for line in range(n * LINES, n * LINES + LINES)]
            for n in range(SAMPLE)
        ]
        many = alone = float("inf")
        for _ in range(ROUNDS):
            begun = process_time()
            priced = price_many(chunk, prices)
            many = min(many, process_time() - begun)
        assert not priced.singly
        for _ in range(3):
            begun = process_time()
            again = [price_again(lines, prices_of, rules, DAY, "USD") for lines in kept]
            alone = min(alone, process_time() - begun)
        expected = [int(one.totals.gross.amount * 100) for one in again]
        assert priced.gross[:SAMPLE].tolist() == expected
        at_once, singly = QUOTES / many, SAMPLE / alone
        print(
            f"{name}: {at_once:,.0f} quotes/s at once (goal {GOAL:,}), {singly:,.0f} one by one: "
            f"{at_once / singly:,.0f} times"
        )


if __name__ == "__main__":
    main()

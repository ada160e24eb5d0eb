"""Counts and sums of a part of a run; parts added up are the summary of the whole."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from service.domain.money import Money, minor_unit
from service.usecases.repricing.records import Outcome, PartChange, Summary

PartKey = tuple[str, str, str]  # kind, SKU, name

MOST_PARTS = 50  # shown in a summary; all are counted
MOST_SKUS = 200
_PRICED = (Outcome.CHANGED, Outcome.UNCHANGED, Outcome.UNDER_THRESHOLD, Outcome.NO_PRICE)


@dataclass
class Tallies:
    """What is counted; money is whole minor units of the run's one currency.

    Attributes:
        before, after: Gross of the changed quotes.
        parts: Change of line amounts by part, over the changed quotes.
        part_quotes: In how many of them.
        without_price: Quotes kept by each SKU that has no price.
    """

    outcomes: Counter[Outcome] = field(default_factory=Counter)
    before: int = 0
    after: int = 0
    under_floor: int = 0
    parts: Counter[PartKey] = field(default_factory=Counter)
    part_quotes: Counter[PartKey] = field(default_factory=Counter)
    without_price: Counter[str] = field(default_factory=Counter)

    @property
    def quotes(self) -> int:
        """How many were looked at."""
        return sum(self.outcomes.values())

    @property
    def priced(self) -> int:
        """How many came through the new prices, whatever came of them."""
        return sum(self.outcomes[one] for one in _PRICED)

    def count(
        self,
        outcome: Outcome,
        before: int,
        after: int | None,
        *,
        under_floor: bool = False,
        skus: Iterable[str] = (),
    ) -> None:
        """Count one quote; ``skus`` are those of it that have no price."""
        self.outcomes[outcome] += 1
        self.under_floor += under_floor
        if outcome is Outcome.CHANGED:
            self.before += before
            self.after += after or 0
        for sku in set(skus):
            self.without_price[sku] += 1

    def add(self, other: "Tallies") -> None:
        """Add another part of the run."""
        self.outcomes.update(other.outcomes)
        self.before += other.before
        self.after += other.after
        self.under_floor += other.under_floor
        self.parts.update(other.parts)
        self.part_quotes.update(other.part_quotes)
        self.without_price.update(other.without_price)

    def summary(self, currency: str) -> Summary:
        """Give it in money, the parts that drove most first."""

        def money(minor: int) -> Money:
            return Money(Decimal(minor) * minor_unit(currency), currency)

        moved = (one for one in self.parts.items() if one[1])
        largest = sorted(moved, key=lambda one: (-abs(one[1]), one[0]))[:MOST_PARTS]
        missing = sorted(self.without_price.items(), key=lambda one: (-one[1], one[0]))
        return Summary(
            outcomes={outcome: self.outcomes[outcome] for outcome in Outcome},
            before=money(self.before),
            after=money(self.after),
            parts=tuple(
                PartChange(*key, self.part_quotes[key], money(change)) for key, change in largest
            ),
            under_floor=self.under_floor,
            without_price=tuple(missing[:MOST_SKUS]),
        )

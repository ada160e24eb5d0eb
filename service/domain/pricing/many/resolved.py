"""Prices found once for the parts of many quotes: by table, day, rules and currency.

A part has a slot for each quantity break in force, and one below them for no price; a line finds
its slot by its quantity. What a slot holds follows from part and row alone, so that the work on a
line is looking things up.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from service.domain.errors import CurrencyMismatch, InvalidPricing
from service.domain.money import minor_unit
from service.domain.pricing.amounts import EXACT, rounded
from service.domain.pricing.charges import MINIMUM
from service.domain.pricing.many.chunk import PLACES
from service.domain.pricing.many.exact import MOST, Ints
from service.domain.pricing.material import Part
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import refuse_unmet_classes
from service.domain.pricing.settings import (
    CHARGE,
    GOODS,
    LABOUR,
    DiscountRule,
    PricingSettings,
    most_specific,
)
from service.domain.pricing.unit_prices import unit_price

NEVER = 2**63 - 1
# Decimals that are scaled to whole numbers together; a figure with more is left to ``price_again``.
_FINEST = 12


class Lack(IntEnum):
    """Why a slot has no price, in the order in which ``drafts_of`` complains."""

    NONE = 0
    ROW = 1
    UNIT = 2
    PACK = 3
    MADE = 4


@dataclass(frozen=True, slots=True)
class Slot:
    """What a line of a part is priced by, from some quantity on."""

    lack: Lack
    tax_class: str
    rule: DiscountRule | None = None
    price: Decimal | None = None
    cost: Decimal | None = None
    odd: bool = False


@dataclass(frozen=True, slots=True)
class Scaled:
    """Decimals as whole numbers of one power of ten.

    Attributes:
        numbers: Zero where there is none, or it does not fit.
        misfit: Where it does not fit.
    """

    numbers: Ints
    places: int
    misfit: NDArray[np.bool_]


class ManyPrices:
    """What the parts of many quotes are priced by.

    Attributes:
        refusal: Why no quote at all can be priced, "" where it can.
        first: Slot of each part below its breaks.
        thresholds: (parts, breaks) quantities from which the next slot holds, in millionths.
        stepped: Parts for which the quantity decides.
        touchy: Parts of which, or of whose SKU, a second line in a quote would matter.
        skus: Number of the SKU of each part.
        rank: 0 of goods, 1 of labour, 2 of charges.
    """

    def __init__(
        self,
        parts: Sequence[Part],
        table: PriceTable,
        settings: PricingSettings,
        on: date,
        currency: str,
    ) -> None:
        """Find the prices.

        Raises:
            CurrencyMismatch: The table is in another currency.
        """
        if table.currency != currency:
            raise CurrencyMismatch(
                f"The quotes are in {currency}, and the price table {table.name} in "
                f"{table.currency}.",
                advice="Price them by a table in their own currency.",
            )
        self.parts, self.table, self.settings, self.on = tuple(parts), table, settings, on
        self.currency = currency
        self.places = -int(minor_unit(currency).as_tuple().exponent)
        self.refusal = _refusal(table, settings)
        self._lay(list(self._slots()))
        self.rank = np.array([(GOODS, LABOUR, CHARGE).index(p.kind) for p in parts], np.int64)
        numbers: dict[str, int] = {}
        self.skus = np.array([numbers.setdefault(p.sku, len(numbers)) for p in parts], np.int64)
        shared = np.bincount(self.skus, minlength=1)[self.skus] > 1 if parts else self.stepped
        self.touchy = (self.rank == 0) & (self.stepped | shared)

    def _slots(self) -> Iterator[tuple[list[Slot], list[int]]]:
        """Give the slots of each part, and the quantities that all but the first begin at."""
        for part in self.parts:
            if part.kind == GOODS:
                yield self._goods(part)
            elif part.kind == LABOUR:
                yield [self._labour(part)], []
            else:
                known = Decimal(0) if part.category == MINIMUM else None
                yield [Slot(Lack.NONE, part.tax_class, cost=known)], []

    def _goods(self, part: Part) -> tuple[list[Slot], list[int]]:
        rows = self.table.in_force(part.sku, self.on)
        begins = [_millionths(row.min_quantity) for row in rows]
        slots = [Slot(Lack.ROW, GOODS), *(self._of_row(part, row) for row in rows)]
        if len(rows) == 1 and not begins[0]:
            return slots[1:], []
        return slots, begins

    def _of_row(self, part: Part, row: PriceRow) -> Slot:
        lack, price = Lack.NONE, None
        if row.unit_of_measure != part.unit_of_measure:
            lack = Lack.UNIT
        elif row.pack_size not in (None, part.pack_size or 1):
            lack = Lack.PACK
        else:
            price = unit_price(row, part.category, self.settings, self.currency)
            lack = Lack.NONE if price is not None else Lack.MADE
        rule = most_specific(self.settings.discounts, part.sku, part.category)
        return Slot(lack, row.tax_class or GOODS, rule, price, row.cost)

    def _labour(self, part: Part) -> Slot:
        """A task that is not charged is a line of nothing, which touches no sum."""
        hour = self.settings.hour(part.category)
        if hour is None:
            return Slot(Lack.NONE, LABOUR, cost=Decimal(0))
        rule = most_specific(self.settings.discounts, "", part.category or LABOUR)
        return Slot(Lack.NONE, LABOUR, rule, hour.rate, hour.cost)

    def _lay(self, of_parts: list[tuple[list[Slot], list[int]]]) -> None:
        """Set all slots side by side."""
        slots = [slot for of_part, _ in of_parts for slot in of_part]
        counts = [len(of_part) for of_part, _ in of_parts]
        self.first = np.cumsum([0, *counts[:-1]], dtype=np.int64)[: len(counts)]
        steps = max((len(begins) for _, begins in of_parts), default=0)
        self.thresholds = np.full((len(of_parts), steps), NEVER, np.int64)
        for number, (_, begins) in enumerate(of_parts):
            self.thresholds[number, : len(begins)] = begins
        self.stepped = np.array([bool(begins) for _, begins in of_parts], np.bool_)
        self.lack = np.array([slot.lack for slot in slots], np.int8)
        self.price = scaled([slot.price for slot in slots])
        self.cost = scaled([slot.cost for slot in slots])
        self.cost_known = np.array([slot.cost is not None for slot in slots], np.bool_)
        self.classes = [slot.tax_class for slot in slots]
        rules = [slot.rule.discount if slot.rule else None for slot in slots]
        self.off_rate = scaled([rule.rate if rule else None for rule in rules])
        step, half = minor_unit(self.currency), self.settings.half
        fixed = [rule.amount if rule and rule.rate is None else None for rule in rules]
        units = [off and rounded(off, step, half).scaleb(self.places, EXACT) for off in fixed]
        self.off_amount = scaled(units, 0)
        self.odd = self._unnamed() | np.logical_or.reduce(
            [every.misfit for every in (self.price, self.cost, self.off_rate, self.off_amount)]
        )

    def _unnamed(self) -> NDArray[np.bool_]:
        """Tell which slots have a tax class that is refused."""
        return np.array([self.unnamed(tax_class) for tax_class in self.classes], np.bool_)

    def unnamed(self, tax_class: str) -> bool:
        """Tell whether nothing says that a class is taxed or not."""
        taxes = self.settings.taxes
        named = {GOODS, LABOUR, *self.settings.untaxed}.union(*(tax.applies_to for tax in taxes))
        return bool(taxes) and tax_class not in named


def scaled(figures: Sequence[Decimal | None], places: int | None = None) -> Scaled:
    """Scale decimals to whole numbers.

    Example:
        >>> prices = scaled([Decimal("1.5"), None, Decimal("0.25")])
        >>> prices.numbers.tolist(), prices.places
        ([150, 0, 25], 2)
    """
    exact = [_plain(figure) for figure in figures]
    if places is None:
        needed = (_decimals(figure) for figure in exact)
        places = max((n for n in needed if n <= _FINEST), default=0)
    fits = [
        figure >= 0 and _decimals(figure) <= places and figure.scaleb(places, EXACT) < MOST
        for figure in exact
    ]
    numbers = [
        int(figure.scaleb(places, EXACT)) if fit else 0
        for figure, fit in zip(exact, fits, strict=True)
    ]
    return Scaled(np.array(numbers, np.int64), places, ~np.array(fits, np.bool_))


def _plain(figure: Decimal | None) -> Decimal:
    return figure.normalize(EXACT) if figure else Decimal(0)


def _decimals(figure: Decimal) -> int:
    exponent: int = -int(figure.as_tuple().exponent)
    return max(exponent, 0)


def _millionths(quantity: Decimal) -> int:
    """Give the fewest millionths that are not below a quantity."""
    parts, one = quantity.as_integer_ratio()
    least: int = -(-parts * 10**PLACES // one)
    return min(max(least, 0), NEVER)


def _refusal(table: PriceTable, settings: PricingSettings) -> str:
    try:
        refuse_unmet_classes(table, settings)
    except InvalidPricing as error:
        return error.detail
    return ""

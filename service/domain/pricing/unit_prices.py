"""What one unit of a part is sold for: its list price, or a price made from its cost.

    markup: price = cost x (1 + rate)        margin: price = cost / (1 - rate)

A made price is rounded once, to the step that is declared or the minor unit of the currency.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction

from service.domain.money import minor_unit
from service.domain.pricing.amounts import rounded_ratio
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.settings import (
    MarkupRule,
    PriceFrom,
    PricingSettings,
    most_specific,
)


def unit_price(
    row: PriceRow, category: str, settings: PricingSettings, currency: str
) -> Decimal | None:
    """Give the price of one unit.

    Args:
        row: In force for the part.
        category: Of the part, which markup rules may name.
        settings: Markup rules, and whether a list or a made price goes first.
        currency: Of the row.

    Returns:
        None for a row without a list price whose cost no markup rule covers, or is not said.

    Example:
        >>> margin = MarkupRule(Decimal("0.4"), of_price=True)
        >>> row = PriceRow("A", None, "C62", cost=Decimal(9))
        >>> unit_price(row, "trim", PricingSettings(None, (), (margin,)), "USD")
        Decimal('15.00')
    """
    if sold_as_listed(row, settings):
        return row.unit_price
    rule = most_specific(settings.markups, row.sku, category)
    if rule is None or row.cost is None:
        return row.unit_price
    step = settings.unit_price_step or minor_unit(currency)
    return rounded_ratio(Fraction(row.cost) * _factor(rule), step, settings.half)


def sold_as_listed(row: PriceRow, settings: PricingSettings) -> bool:
    """Tell whether the list price of a row is its price, whatever the markup rules say."""
    listed_first = settings.price_from is PriceFrom.LIST
    return row.unit_price is not None and (listed_first or row.cost is None)


def _factor(rule: MarkupRule) -> Fraction:
    rate = Fraction(rule.rate)
    return 1 / (1 - rate) if rule.of_price else 1 + rate


def first_prices(
    table: PriceTable, on: date, settings: PricingSettings, categories: Mapping[str, str]
) -> Mapping[str, Decimal]:
    """Give the unit price of each part at the lowest quantity that is priced on a day.

    How many bars are bought follows from their prices, so the cut is planned by these.

    Args:
        table: All rows.
        on: The day.
        settings: How a cost becomes a price.
        categories: Category of each part that may be ordered, by SKU; a table may hold thousands
            of others, which nobody asks about.
    """
    prices: dict[str, Decimal] = {}
    for sku, category in categories.items():
        rows = table.in_force(sku, on)
        if not rows:
            continue
        price = unit_price(rows[0], category, settings, table.currency)
        if price is not None:
            prices[sku] = price
    return prices

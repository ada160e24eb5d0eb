"""Lines before any money is reckoned: what is charged for, how much of it, and its unit price."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal

from service.domain.errors import NoPriceInForce
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.rows import rows_for
from service.domain.pricing.settings import GOODS, LABOUR, PricingSettings
from service.domain.pricing.unit_prices import unit_price
from service.domain.pricing.units import HOUR
from service.domain.record import record
from service.domain.takeoff.parts import Item, LabourItem


@record(frozen=True, slots=True)
class Draft:
    """One line to be.

    Attributes:
        row: The price row behind goods, None for other lines.
        cost: Of one unit, None where it is not said.
    """

    kind: str
    sku: str
    description: str
    category: str
    quantity: Decimal
    unit_of_measure: str
    unit_price: Decimal
    tax_class: str
    elements: tuple[str, ...] = ()
    length_nm: int | None = None
    row: PriceRow | None = None
    cost: Decimal | None = None

    @property
    def name(self) -> str:
        """How a refusal names it."""
        return self.sku or self.description


def drafts_of(
    items: Iterable[Item],
    labour: Iterable[LabourItem],
    table: PriceTable,
    settings: PricingSettings,
    on: date,
) -> list[Draft]:
    """Draft a line for each item, then for each task that is charged.

    Raises:
        NoPriceInForce: Parts have no row in force, or a row from which no price can be made.
    """
    wanted = tuple(items)
    goods = list(_goods(wanted, table, settings, on))
    return [*goods, *_labour(labour, settings)]


def _goods(
    items: Sequence[Item], table: PriceTable, settings: PricingSettings, on: date
) -> Iterator[Draft]:
    rows = rows_for(items, table, on)
    prices = {
        item.sku: unit_price(rows[item.sku], item.category, settings, table.currency)
        for item in items
    }
    _refuse_unmade(prices, table)
    for item in items:
        row = rows[item.sku]
        yield Draft(
            kind=GOODS,
            sku=item.sku,
            description=item.description,
            category=item.category,
            quantity=item.ordered,
            unit_of_measure=item.unit_of_measure,
            unit_price=prices[item.sku] or Decimal(0),
            tax_class=row.tax_class or GOODS,
            elements=item.elements,
            length_nm=item.length_nm,
            row=row,
            cost=row.cost,
        )


def _refuse_unmade(prices: dict[str, Decimal | None], table: PriceTable) -> None:
    unmade = tuple(sku for sku, price in prices.items() if price is None)
    if unmade:
        raise NoPriceInForce(
            f"The price table {table.name} gives only the cost of {', '.join(unmade)}, and no "
            "markup rule covers it.",
            skus=unmade,
            where=("pricing", "markups"),
            advice="Add a markup rule for each, or one without sku and category, or list prices.",
        )


def _labour(tasks: Iterable[LabourItem], settings: PricingSettings) -> Iterator[Draft]:
    for task in tasks:
        hour = settings.hour(task.category)
        if hour is not None:
            yield Draft(
                kind=LABOUR,
                sku="",
                description=task.task,
                category=task.category or LABOUR,
                quantity=task.hours,
                unit_of_measure=HOUR,
                unit_price=hour.rate,
                tax_class=LABOUR,
                elements=task.elements,
                cost=hour.cost,
            )

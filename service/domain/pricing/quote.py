"""From items and hours to priced lines and totals that add up.

Rounding has three places, all half up: the net of a line, each tax component of a line (tax.py),
and the hours of a task (``LabourItem.hours``, 0.01 h), so that quantity times unit price is what
the reader computes. Totals are sums of rounded lines and are never rounded again.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Context, Decimal

from service.domain.errors import TooLarge
from service.domain.money import Money, zero
from service.domain.pricing.lines import Line, Totals
from service.domain.pricing.price_table import PriceRow, PriceTable, PricingSettings
from service.domain.pricing.rows import rows_for
from service.domain.pricing.tax import line_taxes, total_taxes
from service.domain.pricing.units import HOUR
from service.domain.takeoff.parts import Item, LabourItem

GOODS = "goods"
LABOUR = "labour"

# A line above this is a slip in a price or quantity; below it every sum of the quote is exact.
MAX_LINE = Decimal(10**12)

# Wide enough that quantity times unit price is exact before it is rounded once.
_EXACT = Context(prec=100)


def price(
    items: Iterable[Item],
    labour: Iterable[LabourItem],
    table: PriceTable,
    settings: PricingSettings,
    on: date,
) -> tuple[tuple[Line, ...], Totals]:
    """Price what was taken off.

    Args:
        items: Parts with ordered quantities.
        labour: Time for each task.
        table: Prices, in one currency.
        settings: Labour rate for each hour (None leaves labour out) and taxes.
        on: Day whose prices are in force.

    Returns:
        Lines numbered from 1, goods before labour, and their totals.

    Raises:
        NoPriceInForce: Parts have no price, or one for another unit; all of them are named.
        TooLarge: A line's amount passes the bound of the service.
    """
    wanted = tuple(items)
    rows = rows_for(wanted, table, on)
    lines = [
        _goods_line(number, item, rows[item.sku], table.currency, settings)
        for number, item in enumerate(wanted, start=1)
    ]
    if settings.labour_rate is not None:
        rate = Money(settings.labour_rate, table.currency)
        lines.extend(
            _labour_line(number, task, rate, settings)
            for number, task in enumerate(labour, start=len(lines) + 1)
        )
    return tuple(lines), _totals(lines, table.currency, settings)


def _net(quantity: Decimal, unit_price: Money, name: str) -> Money:
    """Multiply exactly and round half up once, to the minor unit."""
    amount = _EXACT.multiply(quantity, unit_price.amount)
    if abs(amount) > MAX_LINE:
        raise TooLarge(
            f"The line {name} comes to {amount:.2E} {unit_price.currency}; "
            f"at most {MAX_LINE:.0E} is quoted.",
            element=name,
            advice="Check its unit price and the quantity of its rule.",
        )
    return Money(amount, unit_price.currency).rounded()


def _goods_line(
    number: int, item: Item, row: PriceRow, currency: str, settings: PricingSettings
) -> Line:
    unit_price = Money(row.unit_price or Decimal(0), currency)
    net = _net(item.ordered, unit_price, item.sku)
    return Line(
        number=number,
        kind=GOODS,
        sku=item.sku,
        description=item.description,
        category=item.category,
        quantity=item.ordered,
        unit_of_measure=item.unit_of_measure,
        unit_price=unit_price,
        net=net,
        taxes=line_taxes(net, GOODS, settings.taxes),
        elements=item.elements,
        length_nm=item.length_nm,
    )


def _labour_line(number: int, task: LabourItem, rate: Money, settings: PricingSettings) -> Line:
    net = _net(task.hours, rate, task.task)
    return Line(
        number=number,
        kind=LABOUR,
        sku="",
        description=task.task,
        category=LABOUR,
        quantity=task.hours,
        unit_of_measure=HOUR,
        unit_price=rate,
        net=net,
        taxes=line_taxes(net, LABOUR, settings.taxes),
        elements=task.elements,
    )


def _totals(lines: Sequence[Line], currency: str, settings: PricingSettings) -> Totals:
    goods = _sum((line.net for line in lines if line.kind == GOODS), currency)
    labour = _sum((line.net for line in lines if line.kind == LABOUR), currency)
    taxes = total_taxes((line.taxes for line in lines), settings.taxes, currency)
    tax = _sum((component.amount for component in taxes), currency)
    net = goods + labour
    return Totals(goods, labour, net, taxes, tax, net + tax)


def _sum(amounts: Iterable[Money], currency: str) -> Money:
    """Add amounts, printed with the currency's decimals even when there are none to add."""
    total = zero(currency).rounded()
    for amount in amounts:
        total = total + amount
    return total

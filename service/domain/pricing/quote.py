"""From items and hours to priced lines and totals that add up.

Rounding has three places, all half up: the net of a line, each tax component of a line (tax.py),
and the hours of a task (``LabourItem.hours``, 0.01 h), so that quantity times unit price is what
the reader computes. Totals are sums of rounded lines and are never rounded again.
"""

from collections.abc import Iterable, Sequence
from decimal import Context, Decimal

from service.domain.errors import NoPriceInForce, TooLarge
from service.domain.money import Money, zero
from service.domain.pricing.lines import Line, Totals
from service.domain.pricing.price_table import PriceTable, PricingSettings
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
) -> tuple[tuple[Line, ...], Totals]:
    """Price what was taken off.

    Args:
        items: Parts with ordered quantities.
        labour: Time for each task.
        table: Prices in force, in one currency.
        settings: Labour rate for each hour (None leaves labour out) and taxes.

    Returns:
        Lines numbered from 1, goods before labour, and their totals.

    Raises:
        NoPriceInForce: Parts have no price, or one for another unit; all of them are named.
        TooLarge: A line's amount passes the bound of the service.
    """
    wanted = tuple(items)
    _refuse_unpriced(wanted, table)
    lines = [
        _goods_line(number, item, table, settings) for number, item in enumerate(wanted, start=1)
    ]
    if settings.labour_rate is not None:
        rate = Money(settings.labour_rate, table.currency)
        lines.extend(
            _labour_line(number, task, rate, settings)
            for number, task in enumerate(labour, start=len(lines) + 1)
        )
    return tuple(lines), _totals(lines, table.currency, settings)


def _refuse_unpriced(items: Sequence[Item], table: PriceTable) -> None:
    missing = tuple(dict.fromkeys(item.sku for item in items if item.sku not in table.rows))
    if missing:
        raise NoPriceInForce(
            f"The price table {table.name} has no price for {', '.join(missing)}.",
            skus=missing,
            where=("price_table", "rows"),
            advice="Add a row for each of them.",
        )
    other_unit = {
        item.sku: (item.unit_of_measure, table.rows[item.sku].unit_of_measure)
        for item in items
        if table.rows[item.sku].unit_of_measure != item.unit_of_measure
    }
    if other_unit:
        units = "; ".join(
            f"{sku} is ordered in {ordered} and priced per {priced}"
            for sku, (ordered, priced) in other_unit.items()
        )
        raise NoPriceInForce(
            f"The price table {table.name} prices parts in another unit: {units}.",
            skus=tuple(other_unit),
            where=("price_table", "rows"),
            advice="Give the part and its price row the same unit of measure.",
        )


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


def _goods_line(number: int, item: Item, table: PriceTable, settings: PricingSettings) -> Line:
    unit_price = Money(table.rows[item.sku].unit_price, table.currency)
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

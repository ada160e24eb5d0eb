"""What a quote costs its dealer and leaves him: figures that no customer's document holds.

Margin is the net less the cost. A cost that is not said is named, never taken for nothing: sums
are those of the lines whose cost is known.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from service.domain.money import Money
from service.domain.pricing.amounts import EXACT, to_money, total
from service.domain.pricing.charges import MINIMUM
from service.domain.pricing.drafts import Draft
from service.domain.pricing.lines import Line
from service.domain.pricing.settings import Half
from service.domain.record import record

# Printed with four decimals, a hundredth of a percent.
_RATE = Decimal("0.0001")


@record(frozen=True, slots=True)
class Margin:
    """What a cost leaves of a net.

    Attributes:
        rate: Margin over net, to 0.0001 half up; None where the net is nothing.
    """

    cost: Money
    net: Money
    margin: Money
    rate: Decimal | None


@record(frozen=True, slots=True)
class LineCost:
    """The cost of one line; None where it is not said.

    Attributes:
        number: Of the line.
        name: SKU, or what the line says.
    """

    number: int
    name: str
    unit_cost: Money | None
    margin: Margin | None


@record(frozen=True, slots=True)
class Costs:
    """The costs of a quote.

    Attributes:
        total: Over the lines whose cost is known.
        unknown: Names of the others.
    """

    lines: tuple[LineCost, ...]
    total: Margin
    unknown: tuple[str, ...]


def costs_of(drafts: Sequence[Draft], lines: Sequence[Line], currency: str, half: Half) -> Costs:
    """Set the cost of each line against its net.

    Args:
        drafts: Goods and labour, as the first lines were reckoned from; charges have no draft.
        lines: All lines.
        currency: Of the quote.
        half: How a line's cost is rounded.
    """
    unit_costs = [draft.cost for draft in drafts]
    unit_costs += [_cost_of_charge(line) for line in lines[len(drafts) :]]
    of_lines = tuple(
        _line_cost(line, unit_cost, currency, half)
        for line, unit_cost in zip(lines, unit_costs, strict=True)
    )
    known = [of_line.margin for of_line in of_lines if of_line.margin]
    unknown = tuple(of_line.name for of_line in of_lines if not of_line.margin)
    return Costs(of_lines, _sum(known, currency), unknown)


def _cost_of_charge(line: Line) -> Decimal | None:
    """What lifts an order to the minimum buys nothing; what carriage costs is not said."""
    return Decimal(0) if line.category == MINIMUM else None


def _line_cost(line: Line, unit_cost: Decimal | None, currency: str, half: Half) -> LineCost:
    name = line.sku or line.description
    if unit_cost is None:
        return LineCost(line.number, name, None, None)
    cost = to_money(EXACT.multiply(line.quantity, unit_cost), currency, half)
    return LineCost(line.number, name, Money(unit_cost, currency), _margin(cost, line.net))


def _sum(margins: Iterable[Margin], currency: str) -> Margin:
    every = tuple(margins)
    cost = total((margin.cost for margin in every), currency)
    return _margin(cost, total((margin.net for margin in every), currency))


def _margin(cost: Money, net: Money) -> Margin:
    margin = net.amount - cost.amount
    rate = (margin / net.amount).quantize(_RATE) if net.amount else None
    return Margin(cost, net, Money(margin, net.currency), rate)

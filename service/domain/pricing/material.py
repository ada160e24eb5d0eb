"""The material of a quote: its order as it is kept to be priced again.

It is everything that does not follow from prices and rules: parts with ordered quantities, tasks
with their hours, carriage with its amount. What lifts an order to the minimum is left out, for it
follows from the rules.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from service.domain.pricing.charges import MINIMUM
from service.domain.pricing.lines import Line
from service.domain.pricing.quote import Priced
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR, PricingSettings
from service.domain.pricing.units import HOUR
from service.domain.record import record
from service.domain.takeoff.parts import Item, LabourItem


@record(frozen=True, slots=True)
class Part:
    """What a line is a line of; lines of one part are priced alike.

    Attributes:
        kind: "goods", "labour" or "charge".
        sku: Of goods, "" for others.
        name: Task of labour or name of a charge, "" for goods.
        category: Of a task as its rule names it, "" where it names none.
        unit_of_measure: UN/ECE Recommendation 20 code.
        pack_size: Of goods, None for others.
        tax_class: Of a charge; that of goods stands in the price table.
    """

    kind: str
    sku: str
    name: str
    category: str
    unit_of_measure: str
    pack_size: int | None
    tax_class: str


@record(frozen=True, slots=True)
class MaterialLine:
    """One line of an order.

    Attributes:
        quantity: As ordered; hours of a task, 1 of a charge.
        amount: As last priced, rounded, before discounts.
    """

    part: Part
    quantity: Decimal
    amount: Decimal


def material_of(
    items: Iterable[Item],
    labour: Iterable[LabourItem],
    priced: Priced,
    settings: PricingSettings,
) -> tuple[MaterialLine, ...]:
    """Give the material of what was priced, in the order of its lines.

    Args:
        items: Which it was priced from.
        labour: Likewise; tasks that are not charged are left out, as they are of the lines.
        priced: Lines with their amounts.
        settings: The rules it was priced by, which say what tasks are charged.
    """
    parts = [*map(_of_item, items), *_of_tasks(labour, settings)]
    charges = [line for line in priced.lines if line.kind == CHARGE and line.category != MINIMUM]
    parts += map(_of_charge, charges)
    lines = [*(line for line in priced.lines if line.kind != CHARGE), *charges]
    return tuple(
        MaterialLine(part, line.quantity, line.amount.amount)
        for part, line in zip(parts, lines, strict=True)
    )


def _of_item(item: Item) -> Part:
    return Part(GOODS, item.sku, "", item.category, item.unit_of_measure, item.pack_size, "")


def _of_tasks(tasks: Iterable[LabourItem], settings: PricingSettings) -> Iterator[Part]:
    for task in tasks:
        if settings.hour(task.category) is not None:
            yield Part(LABOUR, "", task.task, task.category, HOUR, None, "")


def _of_charge(line: Line) -> Part:
    return Part(
        CHARGE, "", line.description, line.category, line.unit_of_measure, None, line.tax_class
    )

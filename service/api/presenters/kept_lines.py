"""The lines of an answered quote, as they are priced again."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from service.domain.money import Money
from service.domain.pricing.charges import MINIMUM
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR


def material_in(quote: Mapping[str, Any]) -> tuple[Sequence[MaterialLine], Money]:
    """Give the lines of an answer but for the lift to the minimum, and the gross.

    Raises:
        KeyError: It lacks a member.
    """
    packs = {item["sku"]: item["pack_size"] for item in quote["takeoff"]["items"]}
    lines = [line for line in quote["lines"] if (line["kind"], line["category"]) != _LIFT]
    gross = quote["totals"]["gross"]
    return (
        [_line(line, packs) for line in lines],
        Money(Decimal(gross["amount"]), gross["currency"]),
    )


_LIFT = (CHARGE, MINIMUM)


def _line(line: Mapping[str, Any], packs: Mapping[str, int]) -> MaterialLine:
    kind, goods = line["kind"], line["kind"] == GOODS
    # A task of no category is printed as labour; it is sold by the same rate.
    unnamed = kind == LABOUR and line["category"] == LABOUR
    part = Part(
        kind=kind,
        sku=line["sku"] if goods else "",
        name="" if goods else line["description"],
        category="" if unnamed else line["category"],
        unit_of_measure=line["unit_of_measure"],
        pack_size=packs[line["sku"]] if goods else None,
        tax_class=line["tax_class"] if kind == CHARGE else "",
    )
    return MaterialLine(part, Decimal(line["quantity"]), Decimal(line["amount"]["amount"]))

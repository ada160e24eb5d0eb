"""The money of a quote: its lines, sums and payments."""

from collections.abc import Iterable

from service.api.presenters.values import Json, decimal, length_or_none, money
from service.domain.pricing.lines import Line, LineTax, Payment, Totals
from service.domain.pricing.price_table import PriceTable
from service.usecases.orders import Units


def present_table(table: PriceTable) -> Json:
    """Give which prices it was quoted by."""
    stored = table.stored
    begin = stored.active_from if stored else None
    return {
        "name": table.name,
        "currency": table.currency,
        "id": stored.table_id if stored else None,
        "version": stored.version if stored else None,
        "active_from": begin.isoformat() if begin else None,
    }


def present_payments(payments: Iterable[Payment]) -> list[Json]:
    """Give what is due when."""
    return [{"due": payment.due, "amount": money(payment.amount)} for payment in payments]


def present_lines(lines: Iterable[Line], units: Units) -> list[Json]:
    """Give the lines in order."""
    return [
        {
            "number": line.number,
            "kind": line.kind,
            "sku": line.sku,
            "description": line.description,
            "category": line.category,
            "length": length_or_none(line.length_nm, units),
            "quantity": decimal(line.quantity),
            "unit_of_measure": line.unit_of_measure,
            "unit_price": money(line.unit_price),
            "amount": money(line.amount),
            "discounts": [
                {"name": off.name, "amount": money(off.amount)} for off in line.discounts
            ],
            "net": money(line.net),
            "tax_class": line.tax_class,
            "tax": money(line.tax),
            "taxes": _taxes(line.taxes),
            "gross": money(line.gross),
            "elements": list(line.elements),
        }
        for line in lines
    ]


def present_totals(totals: Totals) -> Json:
    """Give the sums of the lines."""
    return {
        "goods": money(totals.goods),
        "labour": money(totals.labour),
        "charges": money(totals.charges),
        "discount": money(totals.discount),
        "net": money(totals.net),
        "taxes": _taxes(totals.taxes),
        "tax": money(totals.tax),
        "gross": money(totals.gross),
    }


def _taxes(taxes: Iterable[LineTax]) -> list[Json]:
    return [
        {"name": tax.name, "rate": decimal(tax.rate), "amount": money(tax.amount)} for tax in taxes
    ]

"""The quote as one document: money first, then what it rests on."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Protocol

import orjson

from service.api.presenters.advice import present_advice
from service.api.presenters.cautions import STANDING, cautions
from service.api.presenters.costs import present_costs
from service.api.presenters.figures import figures_of
from service.api.presenters.findings import present_findings
from service.api.presenters.kept_lines import material_in
from service.api.presenters.layout import present_layout
from service.api.presenters.offcuts import present_used
from service.api.presenters.quote_links import links_of
from service.api.presenters.quote_money import (
    present_lines,
    present_payments,
    present_table,
    present_totals,
)
from service.api.presenters.repriced import ordered_again, present_repriced
from service.api.presenters.structure import present_structure
from service.api.presenters.takeoff import present_cut_plans, present_takeoff
from service.api.presenters.values import Json
from service.domain.layout.records import Layout
from service.domain.money import Money
from service.domain.pricing.changes import Figures
from service.domain.pricing.dealers_view import DealersView
from service.domain.pricing.material import MaterialLine
from service.domain.pricing.settings import PricingSettings
from service.spoken_lengths import all_in_units
from service.usecases.orders import NOBODY, Customer, QuoteOrder, Units
from service.usecases.ports import Repriced
from service.usecases.price_repriced import PricedAgain
from service.usecases.quote_railing import Quote


class Draw(Protocol):
    """Draws a layout."""

    def __call__(
        self, layout: Layout, units: Units, *, reference: str, cautions: Iterable[str]
    ) -> bytes:
        """Give the drawing."""
        ...


class QuotePress:
    """Writes a quote down: the answer as JSON, the drawings by the functions given."""

    def __init__(self, draw: Draw, plot: Draw) -> None:
        self._draw = draw
        self._plot = plot

    def document(self, quote: Quote) -> bytes:
        """Give the answer."""
        return orjson.dumps(present_quote(quote))

    def costs(self, quote_id: str, view: DealersView) -> bytes:
        """Give the dealer's figures."""
        return orjson.dumps(present_costs(quote_id, view))

    def repriced(self, first: bytes, again: PricedAgain) -> bytes:
        """Give the answer of a re-priced quote."""
        return orjson.dumps(present_repriced(orjson.loads(first), again))

    def material(self, answer: bytes) -> tuple[Sequence[MaterialLine], Money]:
        """Read the lines to be priced again from an answer, and what it came to."""
        return material_in(orjson.loads(answer))

    def ordered_again(self, first: bytes, quote: Repriced) -> bytes:
        """Give the body that orders a re-priced quote whole."""
        return orjson.dumps(ordered_again(orjson.loads(first), quote))

    def drawing(self, layout: Layout, order: QuoteOrder) -> bytes:
        """Give the drawing, SVG."""
        return self._draw(layout, order.units, reference=order.reference, cautions=STANDING)

    def plot(self, layout: Layout, order: QuoteOrder) -> bytes:
        """Give the drawing, DXF."""
        return self._plot(layout, order.units, reference=order.reference, cautions=STANDING)

    def day(self, answer: bytes) -> date:
        """Tell the day an answer was made for."""
        return date.fromisoformat(orjson.loads(answer)["on"])

    def figures(self, answer: bytes) -> Figures:
        """Give what an answer is compared by."""
        return figures_of(answer)

    def shows(self, answer: bytes, layout: Layout, order: QuoteOrder) -> bool:
        """Tell whether an answer holds this layout."""
        laid_out: object = _as_said_now(orjson.loads(answer)["layout"], order.units)
        again: object = orjson.loads(orjson.dumps(present_layout(layout, order.units)))
        return laid_out == again


def _as_said_now(layout: Any, units: Units) -> Json:
    """Give a kept layout with notes as they are told now; once they told millimetres to all."""
    supports = [
        {**each, "notes": all_in_units(each["notes"], units)} for each in layout.get("supports", ())
    ]
    return {**layout, "supports": supports, "notes": all_in_units(layout["notes"], units)}


def present_quote(quote: Quote) -> Json:
    """Give the whole quote."""
    order, receipt, units = quote.order, quote.receipt, quote.order.units
    return {
        "id": receipt.id,
        "reference": order.reference,
        "outside_reference": order.outside_reference,
        "customer": present_customer(order.customer),
        "series": receipt.series or receipt.id,
        "revision": receipt.revision,
        "revises": receipt.revises or None,
        "created_on": receipt.received_at.date().isoformat(),
        "on": receipt.on.isoformat(),
        "valid_until": order.valid_until.isoformat() if order.valid_until else None,
        "service_version": receipt.service_version,
        "units": units.value,
        "price_table": present_table(order.prices),
        "terms": present_terms(order.pricing),
        "totals": present_totals(quote.totals),
        "payments": present_payments(quote.priced.payments),
        "conditions": list(quote.priced.conditions),
        "lines": present_lines(quote.lines, units),
        "cautions": cautions(quote.findings),
        "compliance": {
            **present_findings(quote.findings, units),
            "advice": present_advice(quote.check.advice, units),
        },
        "structure": present_structure(quote.screening, units),
        "layout": present_layout(quote.layout, units),
        "takeoff": present_takeoff(quote.takeoff, units),
        "cut_plans": present_cut_plans(quote.cut_plans, units),
        "offcuts": [present_used(offcut, units) for offcut in quote.offcuts],
        "links": links_of(receipt.id, receipt.revises),
    }


def present_terms(pricing: PricingSettings) -> Json:
    """Give how the amounts are meant; nothing else of a dealer's rules is the customer's."""
    return {
        "prices_include_tax": pricing.tax_included,
        "tax_per": pricing.tax_per.value,
        "half": pricing.half.value,
    }


def present_customer(customer: Customer) -> Json | None:
    """Give whom a quote is for."""
    if customer == NOBODY:
        return None
    return {**asdict(customer), "address": list(customer.address)}

"""The main job: from a taped deck to a priced quote that is kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from service.domain.compliance.findings import Finding
from service.domain.cutting.offcuts import Offcut
from service.domain.cutting.plan import CutPlan
from service.domain.layout.records import Layout
from service.domain.money import Money
from service.domain.pricing.changes import Figures
from service.domain.pricing.dealers_view import DealersView, dealers_view
from service.domain.pricing.life import QuoteLife, State
from service.domain.pricing.lines import Line, Totals
from service.domain.pricing.material import MaterialLine, material_of
from service.domain.pricing.quote import Priced, price
from service.domain.structure.materials import Materials
from service.domain.structure.screening import Screening
from service.domain.takeoff.take_off import Takeoff
from service.usecases.check_code import CodeCheck, check_job, clauses_for, job_of
from service.usecases.offcuts_on_hand import left_over, used_offcuts, with_stored_offcuts
from service.usecases.orders import QuoteOrder
from service.usecases.ports import (
    CodeLibrary,
    Inputs,
    Material,
    Quotes,
    Repriced,
    Saw,
    Shelf,
    StoredQuote,
)
from service.usecases.price_repriced import PricedAgain
from service.usecases.take_off_railing import lay_out_to_order, order_parts, unit_prices
from service.usecases.watching import UNWATCHED, Watch


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the edge knows about a request and the core must not ask for.

    Attributes:
        id: Of the quote to be made.
        received_at: UTC.
        on: Day whose code edition and prices apply.
        service_version: Version that computes.
        request: Body as it was received, what it names pinned.
        series: Id of the first quote of its series, "" for a first quote.
        revision: Its number in the series.
        revises: Id of the quote it revises, "" for none.
    """

    id: str
    received_at: datetime
    on: date
    service_version: str
    request: bytes
    series: str = ""
    revision: int = 1
    revises: str = ""


@dataclass(frozen=True, slots=True)
class Quote:
    """Everything one job comes to; what it costs its dealer is in ``priced`` alone."""

    order: QuoteOrder
    receipt: Receipt
    layout: Layout
    check: CodeCheck
    takeoff: Takeoff
    cut_plans: tuple[CutPlan, ...]
    priced: Priced

    @property
    def lines(self) -> tuple[Line, ...]:
        """What is charged for."""
        return self.priced.lines

    @property
    def totals(self) -> Totals:
        """Sums of the lines."""
        return self.priced.totals

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of the code check."""
        return self.check.findings

    @property
    def screening(self) -> Screening | None:
        """Of the structure, None where none was asked for."""
        return self.check.screening

    @property
    def offcuts(self) -> tuple[Offcut, ...]:
        """Those its cut plans use."""
        return used_offcuts(self.cut_plans, self.order.offcuts)

    @property
    def codes(self) -> tuple[str, ...]:
        """Code and edition of every clause used, in order."""
        named = (f"{f.clause.code} {f.clause.edition}" for f in self.findings)
        return tuple(dict.fromkeys(named))


class Press(Protocol):
    """Writes a quote down."""

    def document(self, quote: Quote) -> bytes:
        """Give the answer, which is the customer's to see."""
        ...

    def costs(self, quote_id: str, view: DealersView) -> bytes:
        """Give the dealer's figures."""
        ...

    def repriced(self, first: bytes, again: PricedAgain) -> bytes:
        """Give the answer of a re-priced quote.

        Args:
            first: Answer of the quote whose order it has.
            again: What it comes to.
        """
        ...

    def material(self, answer: bytes) -> tuple[Sequence[MaterialLine], Money]:
        """Read the lines to be priced again from an answer, and what it came to."""
        ...

    def ordered_again(self, first: bytes, quote: Repriced) -> bytes:
        """Give the body that orders a re-priced quote whole.

        Args:
            first: Body that the quote was made from whose order it has.
            quote: Which names other prices and their day.
        """
        ...

    def drawing(self, layout: Layout, order: QuoteOrder) -> bytes:
        """Give the drawing."""
        ...

    def plot(self, layout: Layout, order: QuoteOrder) -> bytes:
        """Give the drawing for a CAD reader."""
        ...

    def day(self, answer: bytes) -> date:
        """Tell the day an answer was made for."""
        ...

    def figures(self, answer: bytes) -> Figures:
        """Give what an answer is compared by."""
        ...

    def shows(self, answer: bytes, layout: Layout, order: QuoteOrder) -> bool:
        """Tell whether an answer holds this layout."""
        ...


def quote_railing(
    order: QuoteOrder,
    receipt: Receipt,
    *,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    press: Press,
    quotes: Quotes,
    shelf: Shelf,
    watch: Watch = UNWATCHED,
) -> StoredQuote:
    """Lay out, check, screen, take off, cut and price a deck; keep the quote as it is answered."""
    quote = work_out(
        order, receipt, codes=codes, materials=materials, saw=saw, shelf=shelf, watch=watch
    )
    with watch.stage("write"):
        stored = written(quote, press)
    with watch.stage("store"):
        quotes.add(stored)
    watch.quoted(quote.cut_plans)
    return stored


def work_out(
    order: QuoteOrder,
    receipt: Receipt,
    *,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    shelf: Shelf,
    watch: Watch = UNWATCHED,
) -> Quote:
    """Lay out, check, screen, take off, cut and price a deck, and keep nothing."""
    order = with_stored_offcuts(order, shelf, receipt.received_at.date())
    return reckon(order, receipt, codes=codes, materials=materials, saw=saw, watch=watch)


def reckon(
    order: QuoteOrder,
    receipt: Receipt,
    *,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    watch: Watch = UNWATCHED,
) -> Quote:
    """Compute a quote, with the offcuts that the order names; the same order gives the same."""
    with watch.stage("lay-out"):
        layout = lay_out_to_order(order, receipt.on)
    clauses = clauses_for(order.code, receipt.on, codes)
    job = job_of(order, materials)
    checked = check_job(job, layout, clauses, order.code.name, order.units, watch=watch)
    prices = unit_prices(order, receipt.on)
    needed = order_parts(layout, order.parts, prices, saw, order.offcuts, watch=watch)
    takeoff = needed.takeoff
    with watch.stage("price"):
        priced = price(takeoff.items, takeoff.labour, order.prices, order.pricing, receipt.on)
    return Quote(order, receipt, layout, checked, takeoff, needed.cut_plans, priced)


def written(quote: Quote, press: Press) -> StoredQuote:
    """Write a quote down as it is to be kept."""
    return StoredQuote(
        id=quote.receipt.id,
        created_at=quote.receipt.received_at,
        reference=quote.order.reference,
        service_version=quote.receipt.service_version,
        price_table=quote.order.prices.name,
        codes=quote.codes,
        total=quote.totals.gross,
        request=quote.receipt.request,
        answer=press.document(quote),
        costs=press.costs(quote.receipt.id, dealers_view(quote.priced, quote.order.pricing)),
        life=_begun(quote),
        customer=quote.order.customer,
        outside_reference=quote.order.outside_reference,
        inputs=Inputs(
            on=quote.receipt.on,
            offcuts=tuple(offcut for offcut in quote.order.offcuts if offcut.stored),
            stored=quote.order.stored,
        ),
        offcuts=tuple(o.name for o in quote.offcuts if o.stored),
        remnants=left_over(quote.takeoff.stock, quote.cut_plans, quote.order.reference),
        material=material_kept(quote),
    )


def material_kept(quote: Quote) -> Material:
    """Give what of a quote is priced again when prices change."""
    takeoff, priced, rules = quote.takeoff, quote.priced, quote.order.pricing
    stored = quote.order.prices.stored
    return Material(
        material_of(takeoff.items, takeoff.labour, priced, rules),
        rules,
        quote.receipt.on,
        *((stored.table_id, stored.version) if stored else ()),
    )


def _begun(quote: Quote) -> QuoteLife:
    order, receipt = quote.order, quote.receipt
    return QuoteLife(
        receipt.id,
        decided=State.DRAFT if order.draft else State.ISSUED,
        valid_until=order.valid_until,
        series=receipt.series or receipt.id,
        revision=receipt.revision,
    )

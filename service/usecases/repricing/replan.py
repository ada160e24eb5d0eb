"""Make the order of a kept quote anew by a run's prices: laid out, cut and priced again."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Protocol

from service.domain.pricing.life import State, refuse_revision
from service.domain.structure.materials import Materials
from service.usecases.orders import QuoteOrder
from service.usecases.ports import CodeLibrary, QuoteLives, Saw, Shelf, StoredQuote
from service.usecases.quote_railing import Quote, Receipt, work_out
from service.usecases.repricing.records import Revisions, Run

# Gives the body and the order of a quote by the run's prices and day, as a draft or not.
Reorder = Callable[[str, Run, bool], tuple[bytes, QuoteOrder]]


class Replan(Protocol):
    """Makes quotes anew for runs; keeps none."""

    def quote(self, dealer: str, run: Run, quote_id: str, at: datetime) -> Quote:
        """Work the next revision of a quote out.

        Raises:
            QuotingError: It cannot be quoted by these prices.
        """
        ...

    def written(self, quote: Quote) -> StoredQuote:
        """Write a quote down as it is to be kept."""
        ...


def replan_quote(
    quote_id: str,
    run: Run,
    *,
    revision_id: str,
    reorder: Reorder,
    lives: QuoteLives,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    shelf: Shelf,
    service_version: str,
    at: datetime,
) -> Quote:
    """Work the next revision of a quote out by a run's prices; nothing is kept.

    Raises:
        QuoteClosed: It is replaced already, or its bars are sawn.
        NotReproducible: This version no longer reads its order.
    """
    life = lives.life(quote_id)
    refuse_revision(life)
    as_before = run.wish.revisions is Revisions.AS_BEFORE
    draft = life.decided is State.DRAFT if as_before else True
    request, order = reorder(quote_id, run, draft)
    order = replace(order, draft=draft, valid_until=life.valid_until)
    receipt = Receipt(
        revision_id,
        at,
        run.wish.on,
        service_version,
        request,
        series=life.series,
        revision=life.revision + 1,
        revises=quote_id,
    )
    return work_out(order, receipt, codes=codes, materials=materials, saw=saw, shelf=shelf)

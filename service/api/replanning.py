"""Orders of kept quotes read again with a run's prices, for workers that no request calls."""

from collections.abc import Callable
from datetime import datetime
from functools import cache

import orjson
from flask import Flask, g
from marshmallow import ValidationError

from service import __version__
from service.api.context import Context, Stores, reordered
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.errors import NotReproducible
from service.usecases.callers import Caller
from service.usecases.orders import QuoteOrder
from service.usecases.ports import StoredQuote
from service.usecases.quote_railing import Quote, written
from service.usecases.repricing.records import Run
from service.usecases.repricing.replan import replan_quote

WHO = "re-pricing run"


class Replanning:
    """Makes quotes anew with what an application is built from; it is built once it is needed."""

    def __init__(self, build: Callable[[], Flask]) -> None:
        self._app = cache(build)

    def quote(self, dealer: str, run: Run, quote_id: str, at: datetime) -> Quote:
        """Work the next revision of a quote out."""
        app = self._app()
        with app.app_context():
            here: Context = app.extensions["evenbay"]
            kept: Stores = here.open_stores(Caller(dealer, WHO, frozenset()))
            g.stores = kept
            return replan_quote(
                quote_id,
                run,
                revision_id=here.new_id(),
                reorder=_reorder,
                lives=kept.lives,
                codes=here.codes,
                materials=here.materials,
                saw=here.saw,
                shelf=kept.shelf,
                service_version=__version__,
                at=at,
            )

    def written(self, quote: Quote) -> StoredQuote:
        """Write a quote down as it is to be kept."""
        app = self._app()
        with app.app_context():
            here: Context = app.extensions["evenbay"]
            return written(quote, here.press)


def _reorder(quote_id: str, run: Run, draft: bool) -> tuple[bytes, QuoteOrder]:
    """Read the body of a quote with the table, the version and the day of a run in it."""
    content = orjson.loads(g.stores.quotes.request(quote_id))
    content["price_table"] = {"stored": run.prices.table_id, "version": run.prices.version}
    content["on"] = run.wish.on.isoformat()
    content["draft"] = draft
    try:
        request, order = reordered(QUOTE_REQUEST, content)
    except ValidationError as error:
        raise NotReproducible("This version no longer reads the order of this quote.") from error
    return request, order

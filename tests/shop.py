"""A dealer who keeps all of the demo order, and whose quote form works with it."""

from datetime import UTC, date, datetime

import orjson

from service.adapters.storage.catalogue import SqlCatalogue
from service.adapters.storage.form_settings import SqlForms
from service.adapters.storage.price_tables import SqlPriceTables
from service.api.schemas.pricing import PriceRowSchema
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Draft, Kind, Named, PriceDraft
from service.usecases.form_settings import FormSettings
from tests.api.replay import request_bytes
from tests.serving import books_of

AT = datetime(2026, 1, 5, tzinfo=UTC)
FIXED = {
    "system": {"stored": "Reedway, bronze"},
    "price_table": {"stored": "Retail"},
    "pricing": {"stored": "Retail rules"},
    "code": {"code": "IRC", "edition": "2021"},
}


def stock(engine, *, ready=True):
    """Keep the demo order's parts under the names above; give the order."""
    order = orjson.loads(request_bytes("quote"))
    books = books_of(engine)
    catalogue, tables = SqlCatalogue(books), SqlPriceTables(books)
    rows = [PriceRow(**row) for row in PriceRowSchema(many=True).load(order["price_table"]["rows"])]
    tables.add(_named(1, "Retail"), PriceDraft(order["price_table"]["currency"], rows))
    tables.activate(_named(1, "").id, 1, date(2026, 1, 1), 1, AT)
    for number, kind, name in (
        (2, Kind.SYSTEM, "Reedway, bronze"),
        (3, Kind.PRICING, "Retail rules"),
    ):
        draft = Draft(orjson.dumps(order[kind.value]))
        catalogue.add(kind, _named(number, name), draft)
    if ready:
        SqlForms(books).change(FormSettings(fixed=FIXED), AT)
    return order


def _named(number, name):
    return Named(f"00000000-0000-4000-8000-{number:012d}", name, AT, 1, 1)

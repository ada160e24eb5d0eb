"""What a large price table costs a quote: one ratio within one run, printed.

    python -m tests.benchmarks.bench_stored_prices

The demo deck is quoted with its prices in the request, and by the name of a stored table of 5,000
rows that holds the same prices. Both take turns; only their ratio means anything.
"""

import tempfile
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from time import perf_counter

import orjson

from service.adapters.storage.price_tables import SqlPriceTables
from service.api.schemas.pricing import PriceRowSchema
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Named, PriceDraft
from tests.api.replay import request_bytes
from tests.serving import books_of, client_of, migrated_app

ROWS = 5_000
ROUNDS = 120
GOAL = 1.1
AT = datetime(2026, 1, 5, tzinfo=UTC)
TABLE = "00000000-0000-4000-8000-000000000001"


def main() -> None:
    """Print the ratio."""
    with tempfile.TemporaryDirectory() as folder:
        app = migrated_app(Path(folder), log_level="WARNING")
        client = client_of(app)
        whole = orjson.loads(request_bytes("quote"))
        rows = [
            PriceRow(**row) for row in PriceRowSchema(many=True).load(whole["price_table"]["rows"])
        ]
        rows += [PriceRow(f"X-{n}", Decimal(n), "C62") for n in range(ROWS - len(rows))]
        tables = SqlPriceTables(books_of(app.extensions["evenbay"].engine))
        tables.add(
            Named(TABLE, "All", AT, 1, 1), PriceDraft(whole["price_table"]["currency"], rows)
        )
        tables.activate(TABLE, 1, date(2026, 1, 1), 1, AT)
        bodies = [orjson.dumps(whole), orjson.dumps(whole | {"price_table": {"stored": "All"}})]
        best = [float("inf"), float("inf")]
        for _ in range(ROUNDS):
            for which, body in enumerate(bodies):
                begun = perf_counter()
                answer = client.post("/v1/quotes", data=body, content_type="application/json")
                best[which] = min(best[which], perf_counter() - begun)
                assert answer.status_code == 201, answer.text
        app.extensions["evenbay"].engine.dispose()
    ratio = best[1] / best[0]
    print(f"{ROWS} stored rows / prices in the request: {ratio:.2f} (goal: at most {GOAL:g})")


if __name__ == "__main__":
    main()

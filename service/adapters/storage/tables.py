"""Tables of the database; money is whole minor units, because SQLite keeps Numeric as REAL.

Every table of a dealer's has the dealer first in its key and in its foreign keys.
"""

from service.adapters.storage.catalogue_tables import (
    catalogue,
    catalogue_versions,
    price_rows,
    price_table_versions,
    price_tables,
)
from service.adapters.storage.event_tables import deliveries, events, replays, webhooks
from service.adapters.storage.order_tables import quote_orders, quote_rules, quoted_parts
from service.adapters.storage.quote_tables import (
    offcut_claims,
    offcuts,
    quote_lives,
    quote_offcuts,
    quote_remnants,
    quotes,
)
from service.adapters.storage.run_tables import repricing_runs, repricings, run_chunks
from service.adapters.storage.schema import audit, dealers, keys, metadata

__all__ = [
    "audit",
    "catalogue",
    "catalogue_versions",
    "dealers",
    "deliveries",
    "events",
    "keys",
    "metadata",
    "offcut_claims",
    "offcuts",
    "price_rows",
    "price_table_versions",
    "price_tables",
    "quote_lives",
    "quote_offcuts",
    "quote_orders",
    "quote_remnants",
    "quote_rules",
    "quoted_parts",
    "quotes",
    "replays",
    "repricing_runs",
    "repricings",
    "run_chunks",
    "webhooks",
]

"""Tables of the database; money is whole minor units, because SQLite keeps Numeric as REAL.

Every table of a dealer's has the dealer first in its key and in its foreign keys.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Date,
    DateTime,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    literal_column,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

dealers = Table(
    "dealers",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("settings", Text, nullable=False),  # JSON
    UniqueConstraint("name"),
)

# Of a key only its hash is kept; the prefix is what people see of it.
keys = Table(
    "keys",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("dealer", String(36), ForeignKey("dealers.id"), nullable=False),
    Column("prefix", String(20), nullable=False),
    Column("hash", String(64), nullable=False),
    Column("label", Text, nullable=False),
    Column("scopes", Text, nullable=False),  # one to a line
    Column("publishable", Boolean, nullable=False),
    Column("origins", Text, nullable=False),  # one to a line
    Column("per_minute", Integer),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("expires_at", DateTime(timezone=True)),
    Column("revoked_at", DateTime(timezone=True)),
    UniqueConstraint("prefix"),
    Index(None, "dealer"),
)

audit = Table(
    "audit",
    metadata,
    Column("dealer", String(36), ForeignKey("dealers.id"), primary_key=True),
    Column("id", String(36), primary_key=True),
    Column("at", DateTime(timezone=True), nullable=False),
    Column("who", Text, nullable=False),
    Column("action", String(60), nullable=False),
    Column("subject", String(100), nullable=False),
    Column("detail", Text, nullable=False),  # JSON
    Index("ix_audit_dealer_at_id", "dealer", "at", "id"),
)


def _of_dealer() -> Column[str]:
    return Column("dealer", String(36), ForeignKey("dealers.id"), primary_key=True)


def _dealers_own(column: str, other: str) -> ForeignKeyConstraint:
    """Give a foreign key that stays within the dealer."""
    return ForeignKeyConstraint(["dealer", column], [f"{other}.dealer", f"{other}.id"])


quotes = Table(
    "quotes",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("reference", Text, nullable=False),
    Column("service_version", String(40), nullable=False),
    Column("price_table", Text, nullable=False),
    Column("codes", Text, nullable=False),  # one code and edition to a line
    Column("currency", String(3), nullable=False),
    Column("total_minor", BigInteger, nullable=False),
    Column("request", LargeBinary, nullable=False),
    Column("answer", LargeBinary, nullable=False),
    Column("drawing", LargeBinary),  # once it was asked for
    Column("costs", LargeBinary),  # the dealer's view; none of a quote older than it
    Column("customer", Text, nullable=False),  # JSON
    Column("customer_name", Text, nullable=False),
    Column("outside_reference", Text, nullable=False),
    Column("inputs", Text, nullable=False, server_default="{}"),  # JSON, beside the request
    Index("ix_quotes_dealer_outside_reference", "dealer", "outside_reference"),
    Index("ix_quotes_dealer_created_at_id", "dealer", "created_at", "id"),
)

# The answer of a quote never changes; what is decided about it stands beside it.
quote_lives = Table(
    "quote_lives",
    metadata,
    _of_dealer(),
    Column("quote_id", String(36), primary_key=True),
    Column("decided", String(20), nullable=False),
    Column("valid_until", Date),
    Column("version", Integer, nullable=False),
    Column("changed_at", DateTime(timezone=True), nullable=False),
    Column("sawn", Boolean, nullable=False),
    Column("remnants_kept", Boolean, nullable=False),
    Column("series", String(36), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("replaced_by", String(36), nullable=False),  # "" for none
    Column("lapsed_at", DateTime(timezone=True)),  # when its last day was seen to have passed
    _dealers_own("quote_id", "quotes"),
    Index(
        "ix_quote_lives_unlapsed",
        "valid_until",
        sqlite_where=literal_column("lapsed_at IS NULL"),
        postgresql_where=literal_column("lapsed_at IS NULL"),
    ),
    # Of two that revise a quote at once, this lets only one through.
    Index("uq_quote_lives_dealer_series_revision", "dealer", "series", "revision", unique=True),
)

# What a quote's cut plan takes from the offcuts on hand; an offcut may be removed meanwhile.
quote_offcuts = Table(
    "quote_offcuts",
    metadata,
    _of_dealer(),
    Column("quote_id", String(36), primary_key=True),
    Column("offcut_id", String(36), primary_key=True),
    _dealers_own("quote_id", "quotes"),
)

# What its cut plan leaves over, to be put with the offcuts once it is sawn.
quote_remnants = Table(
    "quote_remnants",
    metadata,
    _of_dealer(),
    Column("quote_id", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("note", Text, nullable=False),
    _dealers_own("quote_id", "quotes"),
)

offcuts = Table(
    "offcuts",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("value", String(20), nullable=False),  # a decimal, exact
    Column("note", Text, nullable=False),
    Column("from_quote", String(36)),
    _dealers_own("from_quote", "quotes"),
    Index("ix_offcuts_dealer_sku_length_nm_id", "dealer", "sku", "length_nm", "id"),
)

# One row per offcut: the key is what keeps two quotes from claiming the same one.
offcut_claims = Table(
    "offcut_claims",
    metadata,
    _of_dealer(),
    Column("offcut_id", String(36), primary_key=True),
    Column("quote_id", String(36), nullable=False),
    Column("until", Date),  # last day it holds, NULL without end
    Column("used", Boolean, nullable=False),
    _dealers_own("offcut_id", "offcuts"),
    _dealers_own("quote_id", "quotes"),
    Index("ix_offcut_claims_dealer_quote_id", "dealer", "quote_id"),
)

# What a dealer sells by. A version is written once and never changed, but for the day it is in
# force from; ``revision`` counts every change of a table, which its ETag is made of.
price_tables = Table(
    "price_tables",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("latest", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    UniqueConstraint("dealer", "name", name="uq_price_tables_dealer_name"),
)

price_table_versions = Table(
    "price_table_versions",
    metadata,
    _of_dealer(),
    Column("table_id", String(36), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("currency", String(3), nullable=False),
    Column("active_from", Date),  # NULL until it is activated
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("note", Text, nullable=False),
    Column("row_count", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
    _dealers_own("table_id", "price_tables"),
)

# Prices and quantities are whole millionths, so that statements on sets of rows are exact.
price_rows = Table(
    "price_rows",
    metadata,
    _of_dealer(),
    Column("table_id", String(36), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("sku", Text, nullable=False),
    Column("unit_of_measure", String(3), nullable=False),
    Column("pack_size", Integer),
    Column("min_quantity", BigInteger, nullable=False),
    Column("unit_price", BigInteger),
    Column("cost", BigInteger),
    Column("tax_class", Text, nullable=False),
    Column("effective_from", Date),
    ForeignKeyConstraint(
        ["dealer", "table_id", "version"],
        [f"price_table_versions.{name}" for name in ("dealer", "table_id", "version")],
    ),
    Index("ix_price_rows_dealer_table_id_version_sku", "dealer", "table_id", "version", "sku"),
)

# Railing systems, pricing rules and amendments: documents that requests name.
catalogue = Table(
    "catalogue",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("name", Text, nullable=False),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("latest", Integer, nullable=False),
    Column("default_for", Text),  # a place whose quotes it applies to unasked
    UniqueConstraint("dealer", "kind", "name", name="uq_catalogue_dealer_kind_name"),
    UniqueConstraint("dealer", "kind", "default_for", name="uq_catalogue_dealer_kind_default_for"),
)

catalogue_versions = Table(
    "catalogue_versions",
    metadata,
    _of_dealer(),
    Column("document_id", String(36), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("body", LargeBinary, nullable=False),  # JSON
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("note", Text, nullable=False),
    Column("digest", String(64), nullable=False),
    _dealers_own("document_id", "catalogue"),
)

# Answers to requests that may be sent again (Idempotency-Key); none while its request is at work.
replays = Table(
    "replays",
    metadata,
    _of_dealer(),
    Column("key", String(255), primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("token", String(36), nullable=False),
    Column("begun_at", DateTime(timezone=True), nullable=False),
    Column("lease_until", DateTime(timezone=True), nullable=False),
    Column("status", Integer),
    Column("headers", Text),  # JSON
    Column("body", LargeBinary),
    Index("ix_replays_dealer_begun_at", "dealer", "begun_at"),
)

# The outbox: rows of the transaction of the change they tell of. ``entered`` grows along the
# changes of one subject; ``position`` is given once the change is kept, by whoever looks first.
events = Table(
    "events",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("entered", BigInteger, nullable=False),
    Column("position", BigInteger),
    Column("at", DateTime(timezone=True), nullable=False),
    Column("type", String(60), nullable=False),
    Column("subject", String(100), nullable=False),
    Column("body", LargeBinary, nullable=False),  # the CloudEvent, the same bytes every time
    Index("uq_events_dealer_position", "dealer", "position", unique=True),
    Index("ix_events_dealer_entered", "dealer", "entered"),
    Index(
        "ix_events_dealer_unplaced",
        "dealer",
        sqlite_where=literal_column("position IS NULL"),
        postgresql_where=literal_column("position IS NULL"),
    ),
)

# A secret signs, so that it has to be kept as it is; it opens nothing of this service.
webhooks = Table(
    "webhooks",
    metadata,
    _of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("url", Text, nullable=False),
    Column("types", Text, nullable=False),  # one to a line
    Column("note", Text, nullable=False),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("disabled_at", DateTime(timezone=True)),
    Column("secret", Text, nullable=False),
    Column("old_secret", Text),
    Column("old_until", DateTime(timezone=True)),
)

# One row per event and endpoint; ``next_at`` of one being sent is when its lease ends.
deliveries = Table(
    "deliveries",
    metadata,
    _of_dealer(),
    Column("webhook_id", String(36), primary_key=True),
    Column("event_id", String(36), primary_key=True),
    Column("subject", String(100), nullable=False),
    Column("position", BigInteger, nullable=False),
    Column("state", String(20), nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("next_at", DateTime(timezone=True), nullable=False),
    Column("last_at", DateTime(timezone=True)),
    Column("last_status", Integer),
    Column("last_error", Text, nullable=False),
    _dealers_own("webhook_id", "webhooks"),
    _dealers_own("event_id", "events"),
    Index(
        "ix_deliveries_turn",
        "dealer",
        "webhook_id",
        "position",
        sqlite_where=literal_column("state = 'waiting'"),
        postgresql_where=literal_column("state = 'waiting'"),
    ),
    Index("ix_deliveries_dealer_webhook_id_position", "dealer", "webhook_id", "position"),
    Index(
        "ix_deliveries_waiting",
        "dealer",
        "webhook_id",
        "subject",
        "position",
        sqlite_where=literal_column("state = 'waiting'"),
        postgresql_where=literal_column("state = 'waiting'"),
    ),
)

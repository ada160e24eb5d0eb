"""Tables of what is answered again, and of what is told."""

from sqlalchemy import (
    BigInteger,
    Column,
    DateTime,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    Text,
    literal_column,
)

from service.adapters.storage.schema import dealers_own, metadata, of_dealer

# Answers to requests that may be sent again (Idempotency-Key); none while its request is at work.
replays = Table(
    "replays",
    metadata,
    of_dealer(),
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
    of_dealer(of_run=True),
    Column("id", String(36), primary_key=True),
    Column("entered", BigInteger, nullable=False),
    Column("position", BigInteger),
    Column("at", DateTime(timezone=True), nullable=False),
    Column("type", String(60), nullable=False),
    Column("subject", String(100), nullable=False),
    Column("body", LargeBinary, nullable=False),  # the CloudEvent, the same bytes every time
    Index(
        "uq_events_dealer_position",
        "dealer",
        "position",
        unique=True,
        sqlite_where=literal_column("position IS NOT NULL"),
        postgresql_where=literal_column("position IS NOT NULL"),
    ),
    Index("ix_events_dealer_entered", "dealer", "entered"),
    Index(
        "ix_events_dealer_unplaced",
        "dealer",
        "entered",
        "id",
        sqlite_where=literal_column("position IS NULL"),
        postgresql_where=literal_column("position IS NULL"),
    ),
)

# A secret signs, so that it has to be kept as it is; it opens nothing of this service.
webhooks = Table(
    "webhooks",
    metadata,
    of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("url", Text, nullable=False),
    Column("types", Text, nullable=False),  # one to a line
    Column("note", Text, nullable=False),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("disabled_at", DateTime(timezone=True)),
    Column("secret", Text, nullable=False),
    Column("old_secret", Text),
    Column("old_until", DateTime(timezone=True)),
    Column("failures", Integer, nullable=False, server_default="0"),  # one after another
    Column("paused_until", DateTime(timezone=True)),
)

# One row per event and endpoint; ``next_at`` of one being sent is when its lease ends. The event
# leads the key, so that an event that is to go is asked after quickly.
deliveries = Table(
    "deliveries",
    metadata,
    of_dealer(),
    Column("event_id", String(36), primary_key=True),
    Column("webhook_id", String(36), primary_key=True),
    Column("subject", String(100), nullable=False),
    Column("position", BigInteger, nullable=False),
    Column("state", String(20), nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("next_at", DateTime(timezone=True), nullable=False),
    Column("last_at", DateTime(timezone=True)),
    Column("last_status", Integer),
    Column("last_error", Text, nullable=False),
    dealers_own("webhook_id", "webhooks"),
    dealers_own("event_id", "events"),
    Index(
        "ix_deliveries_turn",
        "dealer",
        "webhook_id",
        "next_at",
        "position",
        sqlite_where=literal_column("state = 'waiting'"),
        postgresql_where=literal_column("state = 'waiting'"),
    ),
    Index(
        "ix_deliveries_open",
        "dealer",
        "webhook_id",
        "state",
        "position",
        sqlite_where=literal_column("state <> 'delivered'"),
        postgresql_where=literal_column("state <> 'delivered'"),
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

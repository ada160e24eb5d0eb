"""Tables of re-pricing runs: what was asked for, pieces of work with their leases, results."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Date,
    DateTime,
    Integer,
    String,
    Table,
    Text,
)

from service.adapters.storage.schema import dealers_own, metadata, of_dealer

repricing_runs = Table(
    "repricing_runs",
    metadata,
    of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("state", String(20), nullable=False),
    Column("mode", String(20), nullable=False),
    Column("dry_run", Boolean, nullable=False),
    Column("revisions", String(20), nullable=False),
    Column("price_table", String(36), nullable=False),
    Column("price_version", Integer, nullable=False),
    Column("priced_on", Date, nullable=False),
    Column("wish", Text, nullable=False),  # JSON
    Column("planned_to", DateTime(timezone=True), nullable=False),  # quotes made before count
    Column("started_at", DateTime(timezone=True)),
    Column("finished_at", DateTime(timezone=True)),
    Column("chunks", Integer),  # NULL until it is planned
    Column("quotes", Integer),  # likewise
    Column("summary", Text, nullable=False),  # JSON, "" until it is finished
    Column("revision", Integer, nullable=False),
    Column("reason", Text, nullable=False),
)

# A range of quote ids. Whoever holds the lease writes; owner and attempt tell a later holder from
# one that was given up.
run_chunks = Table(
    "run_chunks",
    metadata,
    of_dealer(),
    Column("run_id", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("first_id", String(36), nullable=False),
    Column("last_id", String(36), nullable=False),
    Column("state", String(10), nullable=False),  # waiting, leased, done or failed
    Column("owner", Text, nullable=False),
    Column("lease_until", DateTime(timezone=True)),
    Column("attempts", Integer, nullable=False),
    Column("done_to", String(36), nullable=False),  # where quotes are kept one by one
    Column("tallies", Text, nullable=False),  # JSON, "" for none yet
    Column("error", Text, nullable=False),
    dealers_own("run_id", "repricing_runs"),
)

# What came of each quote that was looked at, but for those that come to the same price. Whoever
# writes them holds a piece of the run, which the run's foreign key is of.
repricings = Table(
    "repricings",
    metadata,
    of_dealer(of_run=True),
    Column("run_id", String(36), primary_key=True),
    Column("quote_id", String(36), primary_key=True),
    Column("outcome", String(20), nullable=False),
    Column("revision_id", String(36)),
    Column("currency", String(3), nullable=False),
    Column("total_before", BigInteger, nullable=False),
    Column("total_after", BigInteger),
    Column("margin_ppm", BigInteger),
    Column("under_floor", Boolean, nullable=False),
    Column("detail", Text, nullable=False),
)

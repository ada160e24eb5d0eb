"""Tables of what a dealer quotes by."""

from sqlalchemy import (
    BigInteger,
    Column,
    Date,
    DateTime,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from service.adapters.storage.schema import dealers_own, metadata, of_dealer

# What a dealer sells by. A version is written once and never changed, but for the day it is in
# force from; ``revision`` counts every change of a table, which its ETag is made of.
price_tables = Table(
    "price_tables",
    metadata,
    of_dealer(),
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
    of_dealer(),
    Column("table_id", String(36), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("currency", String(3), nullable=False),
    Column("active_from", Date),  # NULL until it is activated
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("note", Text, nullable=False),
    Column("row_count", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
    dealers_own("table_id", "price_tables"),
)

# Prices and quantities are whole millionths, so that statements on sets of rows are exact.
price_rows = Table(
    "price_rows",
    metadata,
    of_dealer(),
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
    of_dealer(),
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
    of_dealer(),
    Column("document_id", String(36), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("body", LargeBinary, nullable=False),  # JSON
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("note", Text, nullable=False),
    Column("digest", String(64), nullable=False),
    dealers_own("document_id", "catalogue"),
)

"""Tables of the database; money is whole minor units, because SQLite keeps Numeric as REAL."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Date,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

quotes = Table(
    "quotes",
    metadata,
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
    Index(None, "created_at"),
)

# The answer of a quote never changes; what is decided about it stands beside it.
quote_lives = Table(
    "quote_lives",
    metadata,
    Column("quote_id", String(36), ForeignKey("quotes.id"), primary_key=True),
    Column("decided", String(20), nullable=False),
    Column("valid_until", Date),
    Column("version", Integer, nullable=False),
    Column("changed_at", DateTime(timezone=True), nullable=False),
    Column("sawn", Boolean, nullable=False),
    Column("remnants_kept", Boolean, nullable=False),
)

# What a quote's cut plan takes from the offcuts on hand; an offcut may be removed meanwhile.
quote_offcuts = Table(
    "quote_offcuts",
    metadata,
    Column("quote_id", String(36), ForeignKey("quotes.id"), primary_key=True),
    Column("offcut_id", String(36), primary_key=True),
)

# What its cut plan leaves over, to be put with the offcuts once it is sawn.
quote_remnants = Table(
    "quote_remnants",
    metadata,
    Column("quote_id", String(36), ForeignKey("quotes.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("note", Text, nullable=False),
)

offcuts = Table(
    "offcuts",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("value", String(20), nullable=False),  # a decimal, exact
    Column("note", Text, nullable=False),
    Column("from_quote", String(36), ForeignKey("quotes.id")),
    Index("ix_offcuts_sku_length_nm_id", "sku", "length_nm", "id"),
)

# One row per offcut: the key is what keeps two quotes from claiming the same one.
offcut_claims = Table(
    "offcut_claims",
    metadata,
    Column("offcut_id", String(36), ForeignKey("offcuts.id"), primary_key=True),
    Column("quote_id", String(36), ForeignKey("quotes.id"), nullable=False),
    Column("until", Date),  # last day it holds, NULL without end
    Column("used", Boolean, nullable=False),
    Index(None, "quote_id"),
)

"""Tables of quotes, what is decided about them, and the offcuts they use."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Date,
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

quotes = Table(
    "quotes",
    metadata,
    of_dealer(of_run=True),
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
    Column("run_id", String(36)),  # of the run that re-priced it
    Index("ix_quotes_dealer_outside_reference", "dealer", "outside_reference"),
    Index("ix_quotes_dealer_created_at_id", "dealer", "created_at", "id"),
)

# The answer of a quote never changes; what is decided about it stands beside it. No foreign key
# leads from there: both are written in one transaction, and no quote is removed.
quote_lives = Table(
    "quote_lives",
    metadata,
    of_dealer(of_run=True),
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
    of_dealer(),
    Column("quote_id", String(36), primary_key=True),
    Column("offcut_id", String(36), primary_key=True),
    dealers_own("quote_id", "quotes"),
)

# What its cut plan leaves over, to be put with the offcuts once it is sawn.
quote_remnants = Table(
    "quote_remnants",
    metadata,
    of_dealer(),
    Column("quote_id", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("note", Text, nullable=False),
    dealers_own("quote_id", "quotes"),
)

offcuts = Table(
    "offcuts",
    metadata,
    of_dealer(),
    Column("id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("sku", Text, nullable=False),
    Column("length_nm", BigInteger, nullable=False),
    Column("first_picket_nm", BigInteger),
    Column("value", String(20), nullable=False),  # a decimal, exact
    Column("note", Text, nullable=False),
    Column("from_quote", String(36)),
    dealers_own("from_quote", "quotes"),
    Index("ix_offcuts_dealer_sku_length_nm_id", "dealer", "sku", "length_nm", "id"),
)

# One row per offcut: the key is what keeps two quotes from claiming the same one.
offcut_claims = Table(
    "offcut_claims",
    metadata,
    of_dealer(),
    Column("offcut_id", String(36), primary_key=True),
    Column("quote_id", String(36), nullable=False),
    Column("until", Date),  # last day it holds, NULL without end
    Column("used", Boolean, nullable=False),
    dealers_own("offcut_id", "offcuts"),
    dealers_own("quote_id", "quotes"),
    Index("ix_offcut_claims_dealer_quote_id", "dealer", "quote_id"),
)

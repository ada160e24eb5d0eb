"""Tables of the database; money is whole minor units, because SQLite keeps Numeric as REAL."""

from sqlalchemy import (
    BigInteger,
    Column,
    DateTime,
    Index,
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

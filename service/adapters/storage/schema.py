"""The one schema, who it belongs to, and what every table of a dealer's begins with."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    DateTime,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
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
    # Place of the last event that is kept no longer.
    Column("events_gone", BigInteger, nullable=False, server_default="0"),
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


def of_dealer(*, of_run: bool = False) -> Column[str]:
    """Give the column that every table of a dealer's begins with.

    Args:
        of_run: Whether a run writes very many rows of it: a foreign key would look up, and lock,
            what they belong to once more for each of them.
    """
    owner = () if of_run else (ForeignKey("dealers.id"),)
    return Column("dealer", String(36), *owner, primary_key=True)


def dealers_own(column: str, other: str) -> ForeignKeyConstraint:
    """Give a foreign key that stays within the dealer."""
    return ForeignKeyConstraint(["dealer", column], [f"{other}.dealer", f"{other}.id"])

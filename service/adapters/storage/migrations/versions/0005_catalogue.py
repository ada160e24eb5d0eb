"""What a dealer sells by: price tables, railing systems, pricing rules, amendments, in versions.

Revision: 0005, after 0004, 2026-11-25
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

MADE = ("price_tables", "price_table_versions", "price_rows", "catalogue", "catalogue_versions")


def upgrade() -> None:
    op.create_table(
        "price_tables",
        *_own("price_tables", "id"),
        _text("name"),
        _time(),
        _whole("latest"),
        _whole("revision"),
        sa.UniqueConstraint("dealer", "name", name="uq_price_tables_dealer_name"),
    )
    op.create_table(
        "price_table_versions",
        *_own("price_table_versions", "table_id", "version"),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("active_from", sa.Date(), nullable=True),
        _time(),
        _text("note"),
        _whole("row_count"),
        _digest(),
        _refers("price_table_versions", "table_id", "price_tables"),
    )
    op.create_table(
        "price_rows",
        *_own("price_rows", "table_id", "version", "number"),
        _text("sku"),
        sa.Column("unit_of_measure", sa.String(3), nullable=False),
        sa.Column("pack_size", sa.Integer(), nullable=True),
        sa.Column("min_quantity", sa.BigInteger(), nullable=False),
        sa.Column("unit_price", sa.BigInteger(), nullable=True),
        sa.Column("cost", sa.BigInteger(), nullable=True),
        _text("tax_class"),
        sa.Column("effective_from", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["dealer", "table_id", "version"],
            [f"price_table_versions.{name}" for name in ("dealer", "table_id", "version")],
            name="fk_price_rows_dealer_table_id_version_price_table_versions",
        ),
    )
    place = ["dealer", "table_id", "version", "sku"]
    op.create_index("ix_price_rows_dealer_table_id_version_sku", "price_rows", place)
    op.create_table(
        "catalogue",
        *_own("catalogue", "id"),
        sa.Column("kind", sa.String(20), nullable=False),
        _text("name"),
        _time(),
        _whole("latest"),
        sa.Column("default_for", sa.Text(), nullable=True),
        *(
            sa.UniqueConstraint("dealer", "kind", name, name=f"uq_catalogue_dealer_kind_{name}")
            for name in ("name", "default_for")
        ),
    )
    op.create_table(
        "catalogue_versions",
        *_own("catalogue_versions", "document_id", "version"),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        _time(),
        _text("note"),
        _digest(),
        _refers("catalogue_versions", "document_id", "catalogue"),
    )
    op.add_column("quotes", sa.Column("inputs", sa.Text(), nullable=False, server_default="{}"))


def downgrade() -> None:
    op.drop_column("quotes", "inputs")
    for table in reversed(MADE):
        op.drop_table(table)


def _own(table: str, *key: str) -> list[Any]:
    """Give the columns of a dealer's key, the key, and what holds the dealer."""
    kinds = {"version": sa.Integer(), "number": sa.Integer()}
    columns = [sa.Column(name, kinds.get(name, sa.String(36)), nullable=False) for name in key]
    return [
        sa.Column("dealer", sa.String(36), nullable=False),
        *columns,
        sa.PrimaryKeyConstraint("dealer", *key, name=f"pk_{table}"),
        sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name=f"fk_{table}_dealer_dealers"),
    ]


def _refers(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["dealer", column],
        [f"{other}.dealer", f"{other}.id"],
        name=f"fk_{table}_dealer_{column}_{other}",
    )


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=False)


def _whole(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer(), nullable=False)


def _time() -> sa.Column[Any]:
    return sa.Column("created_at", sa.DateTime(timezone=True), nullable=False)


def _digest() -> sa.Column[Any]:
    return sa.Column("digest", sa.String(64), nullable=False)

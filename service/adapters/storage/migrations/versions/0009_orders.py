"""Orders kept to be priced again, and which run re-priced a quote.

Revision: 0009, after 0008, 2026-11-25
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def _table(name: str, *parts: Any) -> None:
    dealer = sa.Column("dealer", sa.String(36), nullable=False)
    owned = sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name=f"fk_{name}_dealer_dealers")
    op.create_table(name, dealer, *parts, owned)


def upgrade() -> None:
    op.add_column("quotes", sa.Column("run_id", sa.String(36), nullable=True))
    _table(
        "quoted_parts",
        sa.Column("id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("sku", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("category", sa.Text(), nullable=False),
        sa.Column("unit_of_measure", sa.String(3), nullable=False),
        sa.Column("pack_size", sa.Integer(), nullable=True),
        sa.Column("tax_class", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("dealer", "id", name="pk_quoted_parts"),
    )
    _table(
        "quote_rules",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("dealer", "digest", name="pk_quote_rules"),
    )
    _table(
        "quote_orders",
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("price_table", sa.String(36), nullable=False),
        sa.Column("price_version", sa.Integer(), nullable=False),
        sa.Column("priced_on", sa.Date(), nullable=False),
        sa.Column("rules", sa.String(64), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("total_minor", sa.BigInteger(), nullable=False),
        sa.Column("material_of", sa.String(36), nullable=False),
        sa.Column("lines", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("dealer", "quote_id", name="pk_quote_orders"),
        sa.ForeignKeyConstraint(
            ["dealer", "quote_id"],
            ["quotes.dealer", "quotes.id"],
            name="fk_quote_orders_dealer_quote_id_quotes",
        ),
    )


def downgrade() -> None:
    for table in ("quote_orders", "quote_rules", "quoted_parts"):
        op.drop_table(table)
    op.drop_column("quotes", "run_id")

"""Quotes as they were answered.

Revision: 0001, after nothing, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "quotes",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("service_version", sa.String(40), nullable=False),
        sa.Column("price_table", sa.Text(), nullable=False),
        sa.Column("codes", sa.Text(), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("total_minor", sa.BigInteger(), nullable=False),
        sa.Column("request", sa.LargeBinary(), nullable=False),
        sa.Column("answer", sa.LargeBinary(), nullable=False),
        sa.Column("drawing", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_quotes"),
    )
    op.create_index("ix_quotes_created_at", "quotes", ["created_at"])


def downgrade() -> None:
    op.drop_index("ix_quotes_created_at", table_name="quotes")
    op.drop_table("quotes")

"""Offcuts on hand, who claims them, and what is decided about quotes.

Revision: 0002, after 0001, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "quote_lives",
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("decided", sa.String(20), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sawn", sa.Boolean(), nullable=False),
        sa.Column("remnants_kept", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name="fk_quote_lives_quote_id_quotes"),
        sa.PrimaryKeyConstraint("quote_id", name="pk_quote_lives"),
    )
    op.execute(
        "INSERT INTO quote_lives (quote_id, decided, version, changed_at, sawn, remnants_kept) "
        "SELECT id, 'issued', 1, created_at, false, false FROM quotes"
    )
    op.create_table(
        "quote_offcuts",
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("offcut_id", sa.String(36), nullable=False),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quotes.id"], name="fk_quote_offcuts_quote_id_quotes"
        ),
        sa.PrimaryKeyConstraint("quote_id", "offcut_id", name="pk_quote_offcuts"),
    )
    op.create_table(
        "quote_remnants",
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("sku", sa.Text(), nullable=False),
        sa.Column("length_nm", sa.BigInteger(), nullable=False),
        sa.Column("first_picket_nm", sa.BigInteger(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quotes.id"], name="fk_quote_remnants_quote_id_quotes"
        ),
        sa.PrimaryKeyConstraint("quote_id", "number", name="pk_quote_remnants"),
    )
    op.create_table(
        "offcuts",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sku", sa.Text(), nullable=False),
        sa.Column("length_nm", sa.BigInteger(), nullable=False),
        sa.Column("first_picket_nm", sa.BigInteger(), nullable=True),
        sa.Column("value", sa.String(20), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("from_quote", sa.String(36), nullable=True),
        sa.ForeignKeyConstraint(["from_quote"], ["quotes.id"], name="fk_offcuts_from_quote_quotes"),
        sa.PrimaryKeyConstraint("id", name="pk_offcuts"),
    )
    op.create_index("ix_offcuts_sku_length_nm_id", "offcuts", ["sku", "length_nm", "id"])
    op.create_table(
        "offcut_claims",
        sa.Column("offcut_id", sa.String(36), nullable=False),
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("used", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["offcut_id"], ["offcuts.id"], name="fk_offcut_claims_offcut_id_offcuts"
        ),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quotes.id"], name="fk_offcut_claims_quote_id_quotes"
        ),
        sa.PrimaryKeyConstraint("offcut_id", name="pk_offcut_claims"),
    )
    op.create_index("ix_offcut_claims_quote_id", "offcut_claims", ["quote_id"])


def downgrade() -> None:
    for table in ("offcut_claims", "offcuts", "quote_remnants", "quote_offcuts", "quote_lives"):
        op.drop_table(table)

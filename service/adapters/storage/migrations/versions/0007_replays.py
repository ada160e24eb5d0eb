"""Answers that are given again to the same request.

Revision: 0007, after 0006, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "replays",
        sa.Column("dealer", sa.String(36), nullable=False),
        sa.Column("key", sa.String(255), nullable=False),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("token", sa.String(36), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("headers", sa.Text(), nullable=True),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name="fk_replays_dealer_dealers"),
        sa.PrimaryKeyConstraint("dealer", "key", name="pk_replays"),
    )
    op.create_index("ix_replays_dealer_begun_at", "replays", ["dealer", "begun_at"])


def downgrade() -> None:
    op.drop_table("replays")

"""Re-pricing runs: what was asked for, pieces of work with their leases, results.

Revision: 0010, after 0009, 2026-11-25
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def _table(name: str, *parts: Any) -> None:
    dealer = sa.Column("dealer", sa.String(36), nullable=False)
    owned = sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name=f"fk_{name}_dealer_dealers")
    op.create_table(name, dealer, *parts, owned)


def _of_run(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["dealer", "run_id"],
        ["repricing_runs.dealer", "repricing_runs.id"],
        name=f"fk_{table}_dealer_run_id_repricing_runs",
    )


def upgrade() -> None:
    _table(
        "repricing_runs",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("mode", sa.String(20), nullable=False),
        sa.Column("dry_run", sa.Boolean(), nullable=False),
        sa.Column("revisions", sa.String(20), nullable=False),
        sa.Column("price_table", sa.String(36), nullable=False),
        sa.Column("price_version", sa.Integer(), nullable=False),
        sa.Column("priced_on", sa.Date(), nullable=False),
        sa.Column("wish", sa.Text(), nullable=False),
        sa.Column("planned_to", sa.DateTime(timezone=True), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("chunks", sa.Integer(), nullable=True),
        sa.Column("quotes", sa.Integer(), nullable=True),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("dealer", "id", name="pk_repricing_runs"),
    )
    _table(
        "run_chunks",
        sa.Column("run_id", sa.String(36), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("first_id", sa.String(36), nullable=False),
        sa.Column("last_id", sa.String(36), nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("owner", sa.Text(), nullable=False),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("done_to", sa.String(36), nullable=False),
        sa.Column("tallies", sa.Text(), nullable=False),
        sa.Column("error", sa.Text(), nullable=False),
        _of_run("run_chunks"),
        sa.PrimaryKeyConstraint("dealer", "run_id", "number", name="pk_run_chunks"),
    )
    _table(
        "repricings",
        sa.Column("run_id", sa.String(36), nullable=False),
        sa.Column("quote_id", sa.String(36), nullable=False),
        sa.Column("outcome", sa.String(20), nullable=False),
        sa.Column("revision_id", sa.String(36), nullable=True),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("total_before", sa.BigInteger(), nullable=False),
        sa.Column("total_after", sa.BigInteger(), nullable=True),
        sa.Column("margin_ppm", sa.BigInteger(), nullable=True),
        sa.Column("under_floor", sa.Boolean(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        _of_run("repricings"),
        sa.PrimaryKeyConstraint("dealer", "run_id", "quote_id", name="pk_repricings"),
    )


def downgrade() -> None:
    # Of an order that a run wrote nothing but the amounts is its own; "" is one that is not kept.
    op.execute("UPDATE quote_orders SET lines = '' WHERE material_of <> quote_id")
    for table in ("repricings", "run_chunks", "repricing_runs"):
        op.drop_table(table)

"""Events that arrive: the outbox, endpoints, deliveries; and which quotes have lapsed.

Revision: 0008, after 0007, 2026-11-25
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def _table(name: str, *parts: Any) -> None:
    dealer = sa.Column("dealer", sa.String(36), nullable=False)
    owned = sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name=f"fk_{name}_dealer_dealers")
    op.create_table(name, dealer, *parts, owned)


def _index(
    name: str, table: str, columns: list[str], where: str = "", *, unique: bool = False
) -> None:
    only = sa.text(where) if where else None
    op.create_index(name, table, columns, unique=unique, sqlite_where=only, postgresql_where=only)


def _dealers_own(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["dealer", column],
        [f"{other}.dealer", f"{other}.id"],
        name=f"fk_{table}_dealer_{column}_{other}",
    )


def upgrade() -> None:
    _table(
        "events",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("entered", sa.BigInteger(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("type", sa.String(60), nullable=False),
        sa.Column("subject", sa.String(100), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("dealer", "id", name="pk_events"),
    )
    _index("uq_events_dealer_position", "events", ["dealer", "position"], unique=True)
    _index("ix_events_dealer_entered", "events", ["dealer", "entered"])
    _index("ix_events_dealer_unplaced", "events", ["dealer"], "position IS NULL")
    _table(
        "webhooks",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("types", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("disabled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("secret", sa.Text(), nullable=False),
        sa.Column("old_secret", sa.Text(), nullable=True),
        sa.Column("old_until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("dealer", "id", name="pk_webhooks"),
    )
    _table(
        "deliveries",
        sa.Column("webhook_id", sa.String(36), nullable=False),
        sa.Column("event_id", sa.String(36), nullable=False),
        sa.Column("subject", sa.String(100), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_status", sa.Integer(), nullable=True),
        sa.Column("last_error", sa.Text(), nullable=False),
        _dealers_own("deliveries", "webhook_id", "webhooks"),
        _dealers_own("deliveries", "event_id", "events"),
        sa.PrimaryKeyConstraint("dealer", "webhook_id", "event_id", name="pk_deliveries"),
    )
    placed = ["dealer", "webhook_id", "position"]
    _index("ix_deliveries_dealer_webhook_id_position", "deliveries", placed)
    _index("ix_deliveries_turn", "deliveries", placed, "state = 'waiting'")
    waiting = ["dealer", "webhook_id", "subject", "position"]
    _index("ix_deliveries_waiting", "deliveries", waiting, "state = 'waiting'")
    op.add_column("quote_lives", sa.Column("lapsed_at", sa.DateTime(timezone=True), nullable=True))
    # What lapsed before events were kept is told to nobody.
    op.execute("UPDATE quote_lives SET lapsed_at = changed_at WHERE valid_until < CURRENT_DATE")
    _index("ix_quote_lives_unlapsed", "quote_lives", ["valid_until"], "lapsed_at IS NULL")


def downgrade() -> None:
    op.drop_index("ix_quote_lives_unlapsed", "quote_lives")
    op.drop_column("quote_lives", "lapsed_at")
    for table in ("deliveries", "webhooks", "events"):
        op.drop_table(table)

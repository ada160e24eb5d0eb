"""Very many events: what is due is found at once, what fails pauses, what is old can go.

Revision: 0011, after 0010, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"

_KEY = "pk_deliveries"


def _index(
    name: str, table: str, columns: list[str], where: str = "", *, unique: bool = False
) -> None:
    only = sa.text(where) if where else None
    op.create_index(name, table, columns, unique=unique, sqlite_where=only, postgresql_where=only)


def _deliveries(turn: str, key: list[str]) -> None:
    """Let another column tell whose turn it is, and another one lead the key."""
    op.drop_index("ix_deliveries_turn", "deliveries")
    op.drop_index("ix_deliveries_waiting", "deliveries")
    op.drop_index("ix_deliveries_dealer_webhook_id_position", "deliveries")
    with op.batch_alter_table("deliveries") as batch:
        batch.drop_constraint(_KEY, type_="primary")
        batch.create_primary_key(_KEY, key)
    placed = ["dealer", "webhook_id", "position"]
    _index("ix_deliveries_dealer_webhook_id_position", "deliveries", placed)
    places = list(dict.fromkeys(["dealer", "webhook_id", turn, "position"]))
    _index("ix_deliveries_turn", "deliveries", places, "state = 'waiting'")
    subjects = ["dealer", "webhook_id", "subject", "position"]
    _index("ix_deliveries_waiting", "deliveries", subjects, "state = 'waiting'")


def _events(columns: list[str], placed: str) -> None:
    """Keep those that have no place in the order in which they get one, and the others apart."""
    op.drop_index("ix_events_dealer_unplaced", "events")
    op.drop_index("uq_events_dealer_position", "events")
    _index("ix_events_dealer_unplaced", "events", columns, "position IS NULL")
    _index("uq_events_dealer_position", "events", ["dealer", "position"], placed, unique=True)


def upgrade() -> None:
    gone = sa.Column("events_gone", sa.BigInteger(), nullable=False, server_default="0")
    op.add_column("dealers", gone)
    failures = sa.Column("failures", sa.Integer(), nullable=False, server_default="0")
    op.add_column("webhooks", failures)
    paused = sa.Column("paused_until", sa.DateTime(timezone=True), nullable=True)
    op.add_column("webhooks", paused)
    _events(["dealer", "entered", "id"], "position IS NOT NULL")
    _deliveries("next_at", ["dealer", "event_id", "webhook_id"])
    still = ["dealer", "webhook_id", "state", "position"]
    _index("ix_deliveries_open", "deliveries", still, "state <> 'delivered'")


def downgrade() -> None:
    op.drop_index("ix_deliveries_open", "deliveries")
    _deliveries("position", ["dealer", "webhook_id", "event_id"])
    _events(["dealer"], "")
    op.drop_column("webhooks", "paused_until")
    op.drop_column("webhooks", "failures")
    op.drop_column("dealers", "events_gone")

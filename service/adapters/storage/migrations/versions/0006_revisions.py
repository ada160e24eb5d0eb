"""Revisions of quotes, whom they are for, and how they are found.

Revision: 0006, after 0005, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"

OF_QUOTES = {"customer": "{}", "customer_name": "", "outside_reference": ""}


def upgrade() -> None:
    for name, value in OF_QUOTES.items():
        column = sa.Column(name, sa.Text(), nullable=False, server_default=value)
        op.add_column("quotes", column)
    for name in ("series", "replaced_by"):
        column = sa.Column(name, sa.String(36), nullable=False, server_default="")
        op.add_column("quote_lives", column)
    number = sa.Column("revision", sa.Integer(), nullable=False, server_default="1")
    op.add_column("quote_lives", number)
    op.execute("UPDATE quote_lives SET series = quote_id")
    op.create_index(
        "uq_quote_lives_dealer_series_revision",
        "quote_lives",
        ["dealer", "series", "revision"],
        unique=True,
    )
    op.create_index("ix_quotes_dealer_outside_reference", "quotes", ["dealer", "outside_reference"])
    op.drop_index("ix_quotes_dealer_created_at", table_name="quotes")
    op.create_index("ix_quotes_dealer_created_at_id", "quotes", ["dealer", "created_at", "id"])


def downgrade() -> None:
    op.drop_index("ix_quotes_dealer_created_at_id", table_name="quotes")
    op.create_index("ix_quotes_dealer_created_at", "quotes", ["dealer", "created_at"])
    op.drop_index("ix_quotes_dealer_outside_reference", table_name="quotes")
    op.drop_index("uq_quote_lives_dealer_series_revision", table_name="quote_lives")
    # The version before knows neither; what nobody may accept stays that way.
    op.execute("UPDATE quote_lives SET decided = 'declined' WHERE decided IN ('draft', 'replaced')")
    for name in ("revision", "replaced_by", "series"):
        op.drop_column("quote_lives", name)
    for name in reversed(OF_QUOTES):
        op.drop_column("quotes", name)

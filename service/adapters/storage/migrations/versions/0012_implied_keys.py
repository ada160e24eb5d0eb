"""Foreign keys to dealers go where another one implies them: each is looked up for every row.

Of tables that a run fills by the million. Their other foreign key names the dealer too, and the
row it leads to has the dealer.

Revision: 0012, after 0011, 2026-11-25
"""

from alembic import op

revision = "0012"
down_revision = "0011"

TABLES = ("quote_lives", "quote_orders", "repricings")


def upgrade() -> None:
    for table in TABLES:
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(f"fk_{table}_dealer_dealers", type_="foreignkey")


def downgrade() -> None:
    for table in reversed(TABLES):
        with op.batch_alter_table(table) as batch:
            batch.create_foreign_key(f"fk_{table}_dealer_dealers", "dealers", ["dealer"], ["id"])

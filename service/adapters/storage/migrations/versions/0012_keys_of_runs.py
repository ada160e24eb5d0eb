"""Foreign keys go from the tables that a run fills by the million: each row would be looked up.

Rows of them are written in the transaction that writes, or holds, what they belong to, and that is
never removed. SQLite, which would have to copy all documents to be rid of them, keeps the keys of
two tables that others refer to.

Revision: 0012, after 0011, 2026-11-25
"""

from alembic import op

revision = "0012"
down_revision = "0011"

# What each belongs to besides its dealer.
OWNED = {
    "quote_lives": ("quote_id", "quotes"),
    "quote_orders": ("quote_id", "quotes"),
    "repricings": ("run_id", "repricing_runs"),
}
REFERRED_TO = ("quotes", "events")


def upgrade() -> None:
    for table, (column, owner) in OWNED.items():
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(f"fk_{table}_dealer_dealers", type_="foreignkey")
            batch.drop_constraint(f"fk_{table}_dealer_{column}_{owner}", type_="foreignkey")
    if op.get_bind().dialect.name == "postgresql":
        for table in REFERRED_TO:
            op.drop_constraint(f"fk_{table}_dealer_dealers", table, type_="foreignkey")


def downgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for table in REFERRED_TO:
            op.create_foreign_key(
                f"fk_{table}_dealer_dealers", table, "dealers", ["dealer"], ["id"]
            )
    for table, (column, owner) in reversed(OWNED.items()):
        with op.batch_alter_table(table) as batch:
            batch.create_foreign_key(f"fk_{table}_dealer_dealers", "dealers", ["dealer"], ["id"])
            batch.create_foreign_key(
                f"fk_{table}_dealer_{column}_{owner}", owner, ["dealer", column], ["dealer", "id"]
            )

"""Several dealers in one database: who they are, their keys, who changed what, and their rows.

The rows there are before belong to one dealer, "first dealer". SQLite cannot change a key in
place, so that on both databases the tables are set aside, made again and filled.

Revision: 0003, after 0002, 2026-11-25
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

FIRST = "00000000-0000-4000-8000-000000000001"
# In the order in which they refer to each other.
FILLED = (
    "quotes", "quote_lives", "quote_offcuts", "quote_remnants", "offcuts", "offcut_claims",
)  # fmt: skip


def upgrade() -> None:
    _make_dealers()
    if op.get_bind().execute(sa.text("SELECT 1 FROM quotes UNION SELECT 1 FROM offcuts")).first():
        op.execute(
            "INSERT INTO dealers (id, name, created_at, settings) "
            f"VALUES ('{FIRST}', 'first dealer', CURRENT_TIMESTAMP, '{{}}')"
        )
    _make_again(of_dealers=True)


def downgrade() -> None:
    _make_again(of_dealers=False)
    for table in ("audit", "keys", "dealers"):
        op.drop_table(table)


def _make_again(*, of_dealers: bool) -> None:
    connection = op.get_bind()
    columns = {
        table: [
            c["name"] for c in sa.inspect(connection).get_columns(table) if c["name"] != "dealer"
        ]
        for table in FILLED
    }
    for table in FILLED:
        op.execute(f"CREATE TABLE aside_{table} AS SELECT * FROM {table}")
    for table in reversed(FILLED):
        op.drop_table(table)
    _tables(of_dealers).create_all(connection)
    for table in FILLED:
        names = ", ".join(columns[table])
        into, what = (f"dealer, {names}", f"'{FIRST}', {names}") if of_dealers else (names, names)
        op.execute(f"INSERT INTO {table} ({into}) SELECT {what} FROM aside_{table}")
        op.drop_table(f"aside_{table}")


def _make_dealers() -> None:
    op.create_table(
        "dealers",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_dealers"),
        sa.UniqueConstraint("name", name="uq_dealers_name"),
    )
    op.create_table(
        "keys",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("dealer", sa.String(36), nullable=False),
        sa.Column("prefix", sa.String(20), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("publishable", sa.Boolean(), nullable=False),
        sa.Column("origins", sa.Text(), nullable=False),
        sa.Column("per_minute", sa.Integer(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name="fk_keys_dealer_dealers"),
        sa.PrimaryKeyConstraint("id", name="pk_keys"),
        sa.UniqueConstraint("prefix", name="uq_keys_prefix"),
    )
    op.create_index("ix_keys_dealer", "keys", ["dealer"])
    op.create_table(
        "audit",
        sa.Column("dealer", sa.String(36), nullable=False),
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("action", sa.String(60), nullable=False),
        sa.Column("subject", sa.String(100), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["dealer"], ["dealers.id"], name="fk_audit_dealer_dealers"),
        sa.PrimaryKeyConstraint("dealer", "id", name="pk_audit"),
    )
    op.create_index("ix_audit_dealer_at_id", "audit", ["dealer", "at", "id"])


def _tables(of_dealers: bool) -> sa.MetaData:
    """Give the six tables as they are with this revision, or as they were before it."""
    held = sa.MetaData()
    if of_dealers:
        sa.Table("dealers", held, sa.Column("id", sa.String(36), primary_key=True))
    lead = ["dealer"] if of_dealers else []

    def table(name: str, key: list[str], refers: dict[str, str], *columns: sa.Column[Any]) -> None:
        own = [sa.Column("dealer", sa.String(36), nullable=False)] if of_dealers else []
        constraints: list[sa.Constraint] = [sa.PrimaryKeyConstraint(*lead, *key, name=f"pk_{name}")]
        if of_dealers:
            constraints.append(
                sa.ForeignKeyConstraint(
                    ["dealer"], ["dealers.id"], name=f"fk_{name}_dealer_dealers"
                )
            )
        for column, other in refers.items():
            constraints.append(
                sa.ForeignKeyConstraint(
                    [*lead, column],
                    [f"{other}.{one}" for one in (*lead, "id")],
                    name="_".join(["fk", name, *lead, column, other]),
                )
            )
        sa.Table(name, held, *own, *columns, *constraints)

    def index(name: str, *columns: str) -> None:
        chosen = [held.tables[name].c[column] for column in (*lead, *columns)]
        sa.Index("_".join(["ix", name, *lead, *columns]), *chosen)

    def needed(name: str, kind: Any) -> sa.Column[Any]:
        return sa.Column(name, kind, nullable=False)

    table(
        "quotes",
        ["id"],
        {},
        needed("id", sa.String(36)),
        needed("created_at", sa.DateTime(timezone=True)),
        needed("reference", sa.Text()),
        needed("service_version", sa.String(40)),
        needed("price_table", sa.Text()),
        needed("codes", sa.Text()),
        needed("currency", sa.String(3)),
        needed("total_minor", sa.BigInteger()),
        needed("request", sa.LargeBinary()),
        needed("answer", sa.LargeBinary()),
        sa.Column("drawing", sa.LargeBinary()),
    )
    index("quotes", "created_at")
    table(
        "quote_lives",
        ["quote_id"],
        {"quote_id": "quotes"},
        needed("quote_id", sa.String(36)),
        needed("decided", sa.String(20)),
        sa.Column("valid_until", sa.Date()),
        needed("version", sa.Integer()),
        needed("changed_at", sa.DateTime(timezone=True)),
        needed("sawn", sa.Boolean()),
        needed("remnants_kept", sa.Boolean()),
    )
    table(
        "quote_offcuts",
        ["quote_id", "offcut_id"],
        {"quote_id": "quotes"},
        needed("quote_id", sa.String(36)),
        needed("offcut_id", sa.String(36)),
    )
    table(
        "quote_remnants",
        ["quote_id", "number"],
        {"quote_id": "quotes"},
        needed("quote_id", sa.String(36)),
        needed("number", sa.Integer()),
        needed("sku", sa.Text()),
        needed("length_nm", sa.BigInteger()),
        sa.Column("first_picket_nm", sa.BigInteger()),
        needed("note", sa.Text()),
    )
    table(
        "offcuts",
        ["id"],
        {"from_quote": "quotes"},
        needed("id", sa.String(36)),
        needed("created_at", sa.DateTime(timezone=True)),
        needed("sku", sa.Text()),
        needed("length_nm", sa.BigInteger()),
        sa.Column("first_picket_nm", sa.BigInteger()),
        needed("value", sa.String(20)),
        needed("note", sa.Text()),
        sa.Column("from_quote", sa.String(36)),
    )
    index("offcuts", "sku", "length_nm", "id")
    table(
        "offcut_claims",
        ["offcut_id"],
        {"offcut_id": "offcuts", "quote_id": "quotes"},
        needed("offcut_id", sa.String(36)),
        needed("quote_id", sa.String(36)),
        sa.Column("until", sa.Date()),
        needed("used", sa.Boolean()),
    )
    index("offcut_claims", "quote_id")
    return held

"""The bare statements that a run is held against: the same sums, in SQL and nothing else.

One is as anybody would write it, on a plain table of the same lines: the quote's id as the service
has it, the SKU, and decimals. The other one is the fastest that we found: the same lines as three
whole numbers, which PostgreSQL multiplies and adds up several times as fast as its decimals, and
as the lines of a quote lie together. In both, prices are those of the stored table with their
quantity breaks, and costs marked up where there is no list price; amounts are rounded line by
line, and so is each tax.
"""

from typing import Any

import numpy as np
from sqlalchemy import Connection, Engine, text

from tests.benchmarks.kept_quotes import PARTS, SKUS, TABLE, Made

_TABLES = (
    "CREATE TABLE bare_parts (part integer PRIMARY KEY, sku text, category text)",
    "CREATE TABLE bare_quotes (quote bigint PRIMARY KEY, id varchar(36))",
    "CREATE TABLE bare_lines (quote bigint, part integer, quantity bigint)",
    "CREATE TABLE bare_totals (quote bigint PRIMARY KEY, net bigint, tax bigint, gross bigint, "
    "cost bigint)",
    "CREATE TABLE plain_lines (quote_id varchar(36), sku text, quantity numeric)",
    "CREATE TABLE plain_totals (quote_id varchar(36) PRIMARY KEY, net numeric, tax numeric, "
    "gross numeric, cost numeric)",
)
_LAST = 9223372036854775807
# Millionths; what is marked up is rounded to cents.
_PRICES = f"""
CREATE TEMPORARY TABLE bare_prices AS
WITH markups (category, rate) AS (VALUES ('post', 35), ('rail', 45), ('trim', 35))
SELECT p.part, p.sku, r.min_quantity AS least, 1 AS goods, r.cost,
    coalesce(r.unit_price, (r.cost * (100 + m.rate) + 500000) / 1000000 * 10000) AS price,
    lead(r.min_quantity, 1, {_LAST}) OVER (PARTITION BY p.part ORDER BY r.min_quantity) AS below
FROM price_rows r JOIN bare_parts p ON p.sku = r.sku JOIN markups m ON m.category = p.category
WHERE r.table_id = '{TABLE}' AND r.version = 2
UNION ALL SELECT {SKUS}, '', 0, 0, 41500000, 68000000, {_LAST}
"""
_IN_DECIMALS = """
CREATE TEMPORARY TABLE plain_prices AS
SELECT sku, goods, least / 1000000.0 AS least, below / 1000000.0 AS below,
    price / 1000000.0 AS price, cost / 1000000.0 AS cost
FROM bare_prices
"""
# The product of two figures in millionths is 10^10 parts of a cent. Because of the limit an amount
# is reckoned once, and not wherever it is named.
_SUMS = f"""
SELECT quote, sum(amount) AS net, sum(tax) AS tax, sum(amount) + sum(tax) AS gross,
    sum(cost) AS cost
FROM (
    SELECT quote, amount, cost,
        goods * ((amount * 485 + 5000) / 10000) + (amount * 125 + 5000) / 10000 AS tax
    FROM (
        SELECT l.quote, p.goods, (l.quantity * p.price + 5000000000) / 10000000000 AS amount,
            (l.quantity * p.cost + 5000000000) / 10000000000 AS cost
        FROM bare_lines l JOIN bare_prices p
            ON p.part = l.part AND l.quantity >= p.least AND l.quantity < p.below
        LIMIT {_LAST}
    ) AS priced
) AS taxed
GROUP BY quote
"""
_PLAIN_SUMS = f"""
SELECT quote_id, sum(amount) AS net, sum(tax) AS tax, sum(amount) + sum(tax) AS gross,
    sum(cost) AS cost
FROM (
    SELECT quote_id, amount, cost,
        goods * round(amount * 0.0485, 2) + round(amount * 0.0125, 2) AS tax
    FROM (
        SELECT l.quote_id, p.goods, round(l.quantity * p.price, 2) AS amount,
            round(l.quantity * p.cost, 2) AS cost
        FROM plain_lines l JOIN plain_prices p
            ON p.sku = l.sku AND l.quantity >= p.least AND l.quantity < p.below
        LIMIT {_LAST}
    ) AS priced
) AS taxed
GROUP BY quote_id
"""


def _counted(sums: str) -> str:
    return f"SELECT count(*), sum(net), sum(tax), sum(gross), sum(cost) FROM ({sums}) AS summed"


STATEMENTS = {
    "plain SELECT": _counted(_PLAIN_SUMS),
    "plain INSERT": f"INSERT INTO plain_totals {_PLAIN_SUMS}",
    "bare SELECT": _counted(_SUMS),
    "bare INSERT": f"INSERT INTO bare_totals {_SUMS}",
}
MISMATCHES = """
SELECT count(*) FROM bare_totals t JOIN bare_quotes q ON q.quote = t.quote
LEFT JOIN repricings r ON r.quote_id = q.id AND r.run_id = :run AND r.total_after = t.gross
WHERE r.quote_id IS NULL
"""
# SQLite has no decimals.
OF_SQLITE = ("bare SELECT", "bare INSERT")
_DIFFER = """
SELECT count(*) FROM bare_totals b JOIN bare_quotes q ON q.quote = b.quote
LEFT JOIN plain_totals p ON p.quote_id = q.id AND p.gross * 100 = b.gross AND p.cost * 100 = b.cost
WHERE p.quote_id IS NULL
"""


def prepare(engine: Engine) -> None:
    """Make the tables, and enter the parts."""
    with engine.begin() as connection:
        for statement in _TABLES:
            connection.execute(text(statement))
        rows = [
            {"part": number, "sku": part.sku, "category": part.category}
            for number, part in enumerate(PARTS)
        ]
        connection.execute(text("INSERT INTO bare_parts VALUES (:part, :sku, :category)"), rows)


def keep(engine: Engine, made: Made) -> None:
    """Keep the lines of some quotes."""
    numbers = np.arange(made.first, made.first + len(made.ids))
    lines = np.repeat(numbers, len(made.parts) // len(made.ids))
    with engine.begin() as connection:
        _insert(connection, "bare_quotes", zip(numbers.tolist(), made.ids, strict=True))
        columns = [lines, made.parts, made.quantities]
        _insert(connection, "bare_lines", zip(*(c.tolist() for c in columns), strict=True))
        if engine.dialect.name == "postgresql":
            skus = [PARTS[part].sku for part in made.parts.tolist()]
            ids = np.repeat(np.array(made.ids), len(made.parts) // len(made.ids)).tolist()
            quantities = [f"{n // 10**6}.{n % 10**6:06d}" for n in made.quantities.tolist()]
            _insert(connection, "plain_lines", zip(ids, skus, quantities, strict=True))


def settle(engine: Engine) -> None:
    """Let the database know what is in its tables, as it does by itself after a while."""
    if engine.dialect.name != "postgresql":
        with engine.begin() as connection:
            connection.execute(text("ANALYZE"))
        return
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("VACUUM ANALYZE"))
        connection.execute(text("CHECKPOINT"))


def run(connection: Connection, name: str) -> None:
    """Run a statement, with what it is fastest with on one core."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET LOCAL work_mem = '512MB'"))
        connection.execute(text("SET LOCAL jit = off"))
    for table in ("bare_prices", "plain_prices"):
        connection.execute(text(f"DROP TABLE IF EXISTS {table}"))
    connection.execute(text(_PRICES))
    connection.execute(text("ANALYZE bare_prices"))
    if name.startswith("plain"):
        connection.execute(text(_IN_DECIMALS))
        connection.execute(text("ANALYZE plain_prices"))
    connection.execute(text(STATEMENTS[name])).close()


def agree(connection: Connection) -> bool:
    """Tell whether both statements came to the same."""
    sqlite = connection.dialect.name == "sqlite"
    return sqlite or connection.execute(text(_DIFFER)).scalar_one() == 0


def _insert(connection: Connection, table: str, rows: Any) -> None:
    driver: Any = connection.connection.driver_connection
    if connection.dialect.name == "postgresql":
        with driver.cursor() as cursor, cursor.copy(f"COPY {table} FROM STDIN") as copy:
            copy.write("".join("\t".join(map(str, row)) + "\n" for row in rows))
    else:
        every = list(rows)
        marks = ",".join("?" * len(every[0]))
        driver.executemany(f"INSERT INTO {table} VALUES ({marks})", every)

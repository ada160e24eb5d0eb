"""Migrations step by step, both ways, with rows in every table: none gets lost that has a place."""

from datetime import UTC, date, datetime
from itertools import pairwise

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import (
    Boolean,
    Date,
    DateTime,
    Integer,
    LargeBinary,
    MetaData,
    inspect,
    select,
)

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.migrate import HERE
from tests.integration.databases import BOTH, url_of

REVISIONS = [one.revision for one in reversed(list(ScriptDirectory(str(HERE)).walk_revisions()))]
OURS = "00000000-0000-4000-8000-000000000001"  # the dealer that 0003 gives rows there were before
AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture(params=BOTH)
def engine(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        yield engine
        engine.dispose()


def tables_of(engine):
    held = MetaData()
    held.reflect(engine)
    return [table for table in held.sorted_tables if table.name != "alembic_version"]


def value_for(column):
    """Give a value of the column's kind; one and the same id satisfies every foreign key."""
    if column.name in ("latest", "revision", "version", "number"):
        return 1
    by_name = {"settings": "{}", "detail": "{}", "customer": "{}", "inputs": "{}",
               "decided": "accepted", "replaced_by": "", "kind": "system"}  # fmt: skip
    if column.name in by_name:
        return by_name[column.name]
    for kind, value in (
        (Boolean, True), (DateTime, AT), (Date, date(2026, 12, 1)), (Integer, 7),
        (LargeBinary, b"\0\xff kept"),
    ):  # fmt: skip
        if isinstance(column.type, kind):
            return value
    length = getattr(column.type, "length", None)
    return OURS[:length] if length else OURS


def fill(engine):
    """Put a row into each table that has none."""
    tables = tables_of(engine)
    with engine.begin() as connection:
        for table in tables:
            if connection.execute(select(table)).first() is None:
                row = {column.name: value_for(column) for column in table.columns}
                connection.execute(table.insert(), row)


def rows(engine):
    tables = tables_of(engine)
    with engine.connect() as connection:
        return {
            table.name: [dict(row._mapping) for row in connection.execute(select(table))]
            for table in tables
        }


def hold(before, after):
    """See that every value is still there that has a table and a column."""
    compared = 0
    for name, kept in before.items():
        if name not in after:
            continue
        assert len(after[name]) == len(kept), name
        for old, new in zip(kept, after[name], strict=True):
            shared = old.keys() & new.keys()
            assert {key: new[key] for key in shared} == {key: old[key] for key in shared}, name
            compared += len(shared)
    return compared


def test_every_step_up_keeps_every_row(engine):
    compared = 0
    for revision in REVISIONS:
        before = rows(engine)
        migrate.upgrade(engine, revision)
        compared += hold(before, rows(engine))
        fill(engine)
    assert migrate.is_current(engine)
    assert compared > 300
    assert all(len(kept) == 1 for kept in rows(engine).values())


def test_every_step_down_keeps_what_the_older_tables_have_a_place_for(engine):
    migrate.upgrade(engine)
    fill(engine)
    compared = 0
    for revision in [*reversed(REVISIONS[:-1]), "base"]:
        before = rows(engine)
        migrate.downgrade(engine, revision)
        after = rows(engine)
        assert after.keys() <= before.keys()
        compared += hold(before, after)
    assert compared > 300
    assert rows(engine) == {}


def shape(engine):
    """Give tables, columns, keys and indexes, as the database tells of them."""
    look = inspect(engine)
    return {
        name: (
            {column["name"]: (str(column["type"]), column["nullable"]) for column in
             look.get_columns(name)},
            look.get_pk_constraint(name)["constrained_columns"],
            sorted(str(sorted(each.items(), key=str)) for each in look.get_foreign_keys(name)),
            sorted((each["name"], *each["column_names"]) for each in look.get_indexes(name)),
            sorted(each["name"] for each in look.get_unique_constraints(name)),
        )
        for name in look.get_table_names()
    }  # fmt: skip


@pytest.mark.parametrize("filled", [False, True], ids=["empty", "with rows"])
def test_a_step_down_and_up_again_makes_the_same_tables(engine, filled):
    shapes = {}
    for revision in REVISIONS:
        migrate.upgrade(engine, revision)
        shapes[revision] = shape(engine)
    if filled:
        fill(engine)
    for below, revision in reversed(list(pairwise(REVISIONS))):
        migrate.downgrade(engine, below)
        assert shape(engine) == shapes[below]
        migrate.upgrade(engine, revision)
        assert shape(engine) == shapes[revision]
        migrate.downgrade(engine, below)


def test_what_no_older_version_knows_can_be_accepted_by_nobody(engine):
    migrate.upgrade(engine)
    fill(engine)
    lives = next(table for table in tables_of(engine) if table.name == "quote_lives")
    with engine.begin() as connection:
        connection.execute(lives.update().values(decided="draft"))
    migrate.downgrade(engine, "0005")
    assert [row["decided"] for row in rows(engine)["quote_lives"]] == ["declined"]

"""The databases that storage is tested on: a real SQLite file, and PostgreSQL where there is one.

EVENBAY_TEST_POSTGRES_URL names a PostgreSQL database in which schemas may be made and dropped,
such as postgresql+psycopg://postgres@127.0.0.1:5432/test; without it those tests are skipped.
EVENBAY_TEST_DATABASE says which of the two the tests of the API run on: sqlite, or postgresql.
"""

import os
import uuid
from contextlib import contextmanager

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import make_url, text

from service.adapters.storage.engine import connect
from service.adapters.storage.tables import metadata
from tests.serving import migrated_app

POSTGRES = os.environ.get("EVENBAY_TEST_POSTGRES_URL", "")
BOTH = (
    "sqlite",
    pytest.param(
        "postgresql",
        marks=pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set"),
    ),
)


# It would have to copy the tables to be rid of them; see migration 0012.
_KEPT_BY_SQLITE = ("fk_quotes_dealer_dealers", "fk_events_dealer_dealers")
CHOSEN = os.environ.get("EVENBAY_TEST_DATABASE") or "sqlite"


@contextmanager
def url_of(kind, directory):
    """Give the URL of an empty database, gone again afterwards."""
    if kind == "sqlite":
        yield f"sqlite:///{directory / 'evenbay.sqlite3'}"
        return
    if kind != "postgresql" or not POSTGRES:
        raise ValueError(f"{kind!r} is no database here; postgresql needs its test URL")
    schema = f"evenbay_{uuid.uuid4().hex}"
    admin = connect(POSTGRES)
    with admin.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    try:
        options = {"options": f"-csearch_path={schema}"}
        yield make_url(POSTGRES).update_query_dict(options).render_as_string(hide_password=False)
    finally:
        with admin.begin() as connection:
            connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))
        admin.dispose()


def drift(engine):
    """Give what the migrations leave other than the tables of the code say."""
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        found = compare_metadata(context, metadata)
    kept = _KEPT_BY_SQLITE if engine.dialect.name == "sqlite" else ()
    return [one for one in found if not (one[0] == "remove_fk" and one[1].name in kept)]


@contextmanager
def served(directory, **settings):
    """Give the service on an empty database of the chosen kind, gone again afterwards."""
    with url_of(CHOSEN, directory) as url:
        app = migrated_app(url=url, **settings)
        try:
            yield app
        finally:
            app.extensions["evenbay"].engine.dispose()

"""The databases that storage is tested on: a real SQLite file, and PostgreSQL where there is one.

EVENBAY_TEST_POSTGRES_URL names a PostgreSQL database in which schemas may be made and dropped,
such as postgresql+psycopg://postgres@127.0.0.1:5432/test; without it those tests are skipped.
EVENBAY_TEST_DATABASE says which of the two the tests of the API run on: sqlite, or postgresql.
"""

import os
import uuid
from contextlib import contextmanager

import pytest
from sqlalchemy import make_url, text

from service.adapters.storage.engine import connect
from tests.serving import migrated_app

POSTGRES = os.environ.get("EVENBAY_TEST_POSTGRES_URL", "")
BOTH = (
    "sqlite",
    pytest.param(
        "postgresql",
        marks=pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set"),
    ),
)


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


@contextmanager
def served(directory, **settings):
    """Give the service on an empty database of the chosen kind, gone again afterwards."""
    with url_of(CHOSEN, directory) as url:
        app = migrated_app(url=url, **settings)
        try:
            yield app
        finally:
            app.extensions["evenbay"].engine.dispose()

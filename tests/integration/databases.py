"""The databases that storage is tested on: a real SQLite file, and PostgreSQL where there is one.

EVENBAY_TEST_POSTGRES_URL names a PostgreSQL database in which schemas may be made and dropped,
such as postgresql+psycopg://postgres@127.0.0.1:5432/test; without it those tests are skipped.
"""

import os
import uuid
from contextlib import contextmanager

import pytest
from sqlalchemy import make_url, text

from service.adapters.storage.engine import connect

POSTGRES = os.environ.get("EVENBAY_TEST_POSTGRES_URL", "")
BOTH = (
    "sqlite",
    pytest.param(
        "postgresql",
        marks=pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set"),
    ),
)


@contextmanager
def url_of(kind, directory):
    """Give the URL of an empty database, gone again afterwards."""
    if kind == "sqlite":
        yield f"sqlite:///{directory / 'evenbay.sqlite3'}"
        return
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

"""Live means the process answers, ready means that it can serve."""

import sqlite3
import time
from contextlib import closing, contextmanager

import pytest
from sqlalchemy import make_url

from service.app import create_app
from service.settings import Settings
from tests.integration.databases import BOTH, url_of
from tests.serving import migrated_app


def test_live_and_ready(client):
    for path in ("/health/live", "/health/ready"):
        response = client.get(path)
        assert (response.status_code, response.json["status"]) == (200, "pass")


def test_a_database_without_tables_is_live_but_not_ready(tmp_path):
    app = create_app(Settings(f"sqlite:///{tmp_path / 'empty.sqlite3'}"))
    client = app.test_client()
    assert client.get("/health/live").status_code == 200
    response = client.get("/health/ready")
    assert (response.status_code, response.content_type) == (503, "application/problem+json")
    app.extensions["evenbay"].engine.dispose()


@contextmanager
def taking_no_writes(kind, directory):
    """The service on a database that is brought up to date and can only be read."""
    with url_of(kind, directory) as url:
        migrated_app(url=url).extensions["evenbay"].engine.dispose()
        if kind == "sqlite":
            url = f"{url.replace('sqlite:///', 'sqlite:///file:')}?mode=ro&uri=true"
        else:
            options = make_url(url).query["options"] + " -cdefault_transaction_read_only=on"
            reading = make_url(url).update_query_dict({"options": options})
            url = reading.render_as_string(hide_password=False)
        app = create_app(Settings(url))
        yield app.test_client()
        app.extensions["evenbay"].engine.dispose()


@pytest.mark.parametrize("kind", BOTH)
def test_a_database_that_takes_no_writes_is_not_ready(kind, tmp_path):
    with taking_no_writes(kind, tmp_path) as client:
        assert client.get("/health/live").status_code == 200
        answered = client.get("/health/ready")
        assert (answered.status_code, answered.headers["Retry-After"]) == (503, "2")
        assert "takes no writes" in answered.json["detail"]


@pytest.fixture
def file(tmp_path):
    """A client of the service on an SQLite file, and the file."""
    app = migrated_app(tmp_path)
    yield app.test_client(), tmp_path / "evenbay.sqlite3"
    app.extensions["evenbay"].engine.dispose()


def test_asking_writes_nothing(file):
    client, path = file
    with closing(sqlite3.connect(path)) as looker:
        before = looker.execute("PRAGMA data_version").fetchall()
        for _ in range(3):
            assert client.get("/health/ready").status_code == 200
        assert looker.execute("PRAGMA data_version").fetchall() == before


def test_a_database_that_is_being_written_is_ready_and_says_so_at_once(file):
    client, path = file
    with closing(sqlite3.connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        assert client.get("/health/ready").status_code == 200
        assert time.monotonic() - began < 2  # a write would wait for five seconds
    patience = "PRAGMA busy_timeout"
    with client.application.extensions["evenbay"].engine.connect() as connection:
        assert connection.exec_driver_sql(patience).scalar() == 5000


def test_paths_and_methods_that_callers_make_up_share_one_label(client):
    for number in range(5):
        client.get(f"/made-up/{number}")
        client.open(f"/made-up/{number}", method=f"GRAB{number}")
    counted = client.get("/metrics", headers={"Accept": "text/plain"}).text
    lines = [line for line in counted.splitlines() if line.startswith("evenbay_requests_total")]
    strange = [line for line in lines if 'route="unknown"' in line]
    assert "made-up" not in counted
    assert "GRAB" not in counted
    assert any('method="other"' in line for line in strange)

"""A copy of the database, made while it is written to, serves what the first one served."""

import subprocess
import threading
import uuid
from contextlib import contextmanager

import pytest
from sqlalchemy import make_url, text

from service.__main__ import main
from service.adapters.storage import migrate
from service.adapters.storage.backup import back_up
from service.adapters.storage.engine import connect
from service.app import create_app
from service.settings import Settings
from tests.api.replay import request_bytes
from tests.integration.databases import POSTGRES, url_of
from tests.serving import client_of, key_for, migrated_app

needs_postgres = pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set")


def post(client, kind):
    return client.post(f"/v1/{kind}s", data=request_bytes(kind), content_type="application/json")


@contextmanager
def served(url):
    app = migrated_app(url=url)
    yield app
    app.extensions["evenbay"].engine.dispose()


@contextmanager
def written_to(client):
    """Keep adding offcuts meanwhile; give the ids of those that were answered."""
    added, done = [], threading.Event()

    def add():
        while not done.is_set():
            answered = post(client, "offcut")
            assert answered.status_code == 201, answered.text
            added.append(answered.json["id"])

    writer = threading.Thread(target=add)
    writer.start()
    try:
        yield added
    finally:
        done.set()
        writer.join()
    assert len(added) >= 2, "it was written to meanwhile"


def wait_for(added, more):
    """Wait until some more offcuts are kept, which a lock held throughout would prevent."""
    until, tick = len(added) + more, threading.Event()
    for _ in range(1000):
        if len(added) >= until:
            return
        tick.wait(0.01)
    raise AssertionError("nothing was written meanwhile")


def holds(url, key, quote, before):
    """Hold a restored database against what was kept before the copy began."""
    app = create_app(Settings(url))
    engine = app.extensions["evenbay"].engine
    assert migrate.is_current(engine)
    client = client_of(app, key)
    assert client.get("/health/ready").status_code == 200
    assert client.get(f"/v1/quotes/{quote.json['id']}").data == quote.data
    shelf = set()
    link = "/v1/offcuts?limit=100"
    while link:
        page = client.get(link)
        shelf |= {one["id"] for one in page.json["offcuts"]}
        link = page.json.get("links", {}).get("next")
    assert before <= shelf
    assert post(client, "quote").status_code == 201, "and goes on"
    engine.dispose()


def test_a_file_is_copied_whole_while_it_is_written_to(tmp_path):
    url, copy = f"sqlite:///{tmp_path / 'one.sqlite3'}", tmp_path / "copy.sqlite3"
    with served(url) as app:
        key = key_for(app)
        client = client_of(app, key)
        quote = post(client, "quote")
        with written_to(client) as added:
            wait_for(added, 3)
            before = set(added)
            back_up(url, copy)
            wait_for(added, 3)
    checked = connect(f"sqlite:///{copy}")
    with checked.connect() as connection:
        assert connection.execute(text("PRAGMA integrity_check")).scalar() == "ok"
        assert connection.execute(text("PRAGMA foreign_key_check")).all() == []
    checked.dispose()
    holds(f"sqlite:///{copy}", key, quote, before)


def test_a_copy_is_one_file_that_only_its_owner_reads(tmp_path, monkeypatch, capsys):
    url, copy = f"sqlite:///{tmp_path / 'one.sqlite3'}", tmp_path / "copies" / "copy.sqlite3"
    monkeypatch.setenv("EVENBAY_DATABASE_URL", url)
    with served(url):
        copy.parent.mkdir()
        assert main(["backup", str(copy)]) == 0
    assert str(copy) in capsys.readouterr().out
    assert [one.name for one in copy.parent.iterdir()] == [copy.name]
    assert copy.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    ("url", "said"),
    [
        pytest.param("sqlite:///{0}/none.sqlite3", "There is no", id="no such file"),
        pytest.param("sqlite://", "in memory", id="in memory"),
        pytest.param("postgresql+psycopg://127.0.0.1:1/x", "pg_dump", id="another database"),
    ],
)
def test_what_cannot_be_copied_is_told(tmp_path, monkeypatch, capsys, url, said):
    monkeypatch.setenv("EVENBAY_DATABASE_URL", url.format(tmp_path))
    assert main(["backup", str(tmp_path / "copy")]) == 1
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_not_written_over(tmp_path, monkeypatch, capsys):
    url, copy = f"sqlite:///{tmp_path / 'one.sqlite3'}", tmp_path / "copy"
    copy.write_bytes(b"yesterday")
    monkeypatch.setenv("EVENBAY_DATABASE_URL", url)
    with served(url):
        assert main(["backup", str(copy)]) == 1
    assert "is there already" in capsys.readouterr().err
    assert copy.read_bytes() == b"yesterday"


@contextmanager
def empty_database():
    """Make a database beside the one of the tests, gone again afterwards."""
    name = f"evenbay_{uuid.uuid4().hex}"
    admin = connect(POSTGRES).execution_options(isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    try:
        yield make_url(POSTGRES).set(database=name)
    finally:
        with admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        admin.dispose()


def plain(url):
    """Give a URL as the programs of PostgreSQL take it."""
    return url.set(drivername="postgresql", query={}).render_as_string(hide_password=False)


@needs_postgres
def test_a_dump_of_postgresql_is_restored_into_another_database(tmp_path):
    dump = tmp_path / "evenbay.dump"
    with url_of("postgresql", tmp_path) as here, served(here) as app:
        schema = make_url(here).query["options"].rpartition("=")[2]
        key = key_for(app)
        client = client_of(app, key)
        quote = post(client, "quote")
        with written_to(client) as added:
            wait_for(added, 3)
            before = set(added)
            save = ["pg_dump", "--format=custom", f"--schema={schema}", f"--file={dump}"]
            subprocess.run([*save, plain(make_url(here))], check=True, timeout=60)
            wait_for(added, 3)
        with empty_database() as there:
            restore = ["pg_restore", "--no-owner", "--exit-on-error", f"--dbname={plain(there)}"]
            subprocess.run([*restore, str(dump)], check=True, timeout=60)
            restored = there.update_query_dict({"options": f"-csearch_path={schema}"})
            holds(restored.render_as_string(hide_password=False), key, quote, before)

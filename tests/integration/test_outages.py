"""A database that goes away is answered with 503, and comes back without a restart."""

import logging
import os
import shutil
import socket
import sqlite3
import threading
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import orjson
import pytest
from sqlalchemy import event, make_url, text
from sqlalchemy.exc import DBAPIError

from service.adapters.storage import page_origins
from service.adapters.storage.engine import connect
from service.adapters.telemetry.logs import formatter
from service.usecases.outages import StoreUnavailable
from tests.api.replay import request_bytes
from tests.integration.databases import POSTGRES, url_of
from tests.serving import client_of, migrated_app

needs_postgres = pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set")


def post(client):
    return client.post("/v1/offcuts", data=request_bytes("offcut"), content_type="application/json")


def is_away(answered):
    """Tell whether an answer says, as it should, that the database is away."""
    if answered.status_code != 503:
        return False
    assert answered.content_type == "application/problem+json"
    assert answered.json["type"] == "/problems/service-unavailable"
    assert int(answered.headers["Retry-After"]) >= 1
    return True


@pytest.fixture
def on_sqlite(tmp_path):
    """A client of a service on a file, with little patience for locks."""
    app = migrated_app(tmp_path)
    client = client_of(app)
    engine = app.extensions["evenbay"].engine
    engine.dispose()
    event.listen(engine, "connect", lambda raw, _: raw.execute("PRAGMA busy_timeout = 100"))
    yield client, tmp_path / "evenbay.sqlite3", engine
    engine.dispose()


def test_a_file_that_another_program_holds(on_sqlite):
    client, file, _ = on_sqlite
    holder = sqlite3.connect(file, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    assert is_away(post(client))
    assert client.get("/v1/offcuts").status_code == 200, "readers go on"
    holder.execute("ROLLBACK")
    holder.close()
    assert post(client).status_code == 201


def test_a_database_that_takes_no_writes(on_sqlite):
    client, _, engine = on_sqlite
    only_reading = lambda raw, _: raw.execute("PRAGMA query_only = ON")  # noqa: E731
    engine.dispose()
    event.listen(engine, "connect", only_reading)
    assert is_away(post(client))
    assert client.get("/v1/offcuts").status_code == 200
    event.remove(engine, "connect", only_reading)
    engine.dispose()
    assert post(client).status_code == 201


def test_connections_that_are_all_at_work(on_sqlite, monkeypatch):
    client, _, engine = on_sqlite
    monkeypatch.setattr(engine.pool, "_timeout", 0.05)
    at_work = [engine.raw_connection() for _ in range(15)]
    assert is_away(client.get("/v1/offcuts"))
    ready = client.get("/health/ready")
    assert (ready.status_code, int(ready.headers["Retry-After"]) >= 1) == (503, True)
    for connection in at_work:
        connection.close()
    assert client.get("/v1/offcuts").status_code == 200
    assert client.get("/health/ready").status_code == 200


def test_a_directory_that_is_not_mounted(on_sqlite):
    client, file, engine = on_sqlite
    assert post(client).status_code == 201
    engine.dispose()
    away = file.parent.with_name("away")
    shutil.move(file.parent, away)
    assert is_away(post(client))
    assert client.get("/health/ready").status_code == 503
    assert client.get("/health/live").status_code == 200
    shutil.move(away, file.parent)
    assert post(client).status_code == 201


def test_a_file_that_is_no_database(on_sqlite):
    client, file, engine = on_sqlite
    engine.dispose()
    whole = file.read_bytes()
    for beside in file.parent.glob("*.sqlite3-*"):
        beside.unlink()
    file.write_bytes(b"not a database, not at all" * 100)
    assert is_away(post(client))
    file.write_bytes(whole)
    engine.dispose()
    assert post(client).status_code == 201


def test_tables_that_are_not_made_yet(tmp_path):
    engine = connect(f"sqlite:///{tmp_path / 'new.sqlite3'}")
    with pytest.raises(StoreUnavailable), engine.connect() as connection:
        connection.execute(text("SELECT 1 FROM quotes"))
    engine.dispose()


def test_a_mistake_in_a_statement_is_no_outage(tmp_path):
    engine = connect(f"sqlite:///{tmp_path / 'new.sqlite3'}")
    with pytest.raises(DBAPIError), engine.connect() as connection:
        connection.execute(text("SELEKT 1"))
    engine.dispose()


@pytest.fixture
def on_postgres(tmp_path):
    """A function that gives a client of a service on PostgreSQL, by an address of choice."""
    opened = []

    def serve(url):
        app = migrated_app(url=url.render_as_string(hide_password=False))
        opened.append(app)
        return client_of(app)

    with url_of("postgresql", tmp_path) as here:
        yield lambda **other: serve(make_url(here).set(**other))
        for app in opened:
            app.extensions["evenbay"].engine.dispose()


def end_connections():
    """End every other connection of this user's tests."""
    admin = connect(POSTGRES)
    ended = text(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() "
        "AND datname = current_database() AND application_name = 'evenbay outage test'"
    )
    with admin.connect() as connection:
        count = len(connection.execute(ended).all())
    admin.dispose()
    return count


def named(client):
    """Let a client's connections be told from those of other tests."""
    engine = client.application.extensions["evenbay"].engine
    engine.dispose()

    @event.listens_for(engine, "connect")
    def name(raw, _record):
        raw.execute("SET application_name = 'evenbay outage test'")
        raw.commit()

    return engine


@needs_postgres
def test_idle_connections_that_the_server_ended_are_replaced(on_postgres):
    client = on_postgres()
    named(client)
    assert post(client).status_code == 201
    assert end_connections() >= 1
    assert post(client).status_code == 201


@needs_postgres
def test_a_connection_that_ends_within_a_request(on_postgres):
    client = on_postgres()
    engine = named(client)
    struck = []

    @event.listens_for(engine, "before_cursor_execute")
    def strike(_connection, _cursor, statement, *_):
        if statement.startswith("INSERT INTO offcuts") and not struck:
            struck.append(end_connections())

    assert is_away(post(client))
    assert struck[0] >= 1
    assert post(client).status_code == 201
    assert len(client.get("/v1/offcuts").json["offcuts"]) == 1, "nothing of the first is kept"


class Passage:
    """A way to the server over a port of its own, which can be closed and opened again."""

    def __init__(self, host, port):
        self._there = (host, port)
        self._listener = None
        self._ends = []
        with socket.create_server(("127.0.0.1", 0)) as probe:
            self.port = probe.getsockname()[1]

    def open(self):
        self._listener = socket.create_server(("127.0.0.1", self.port), reuse_port=True)
        threading.Thread(target=self._accept, args=(self._listener,), daemon=True).start()

    def close(self):
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        for end in self._ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self._ends.clear()

    def _accept(self, listener):
        with suppress(OSError):
            while True:
                near, _ = listener.accept()
                far = socket.create_connection(self._there)
                self._ends += [near, far]
                for one, other in ((near, far), (far, near)):
                    threading.Thread(target=self._carry, args=(one, other), daemon=True).start()

    @staticmethod
    def _carry(one, other):
        with suppress(OSError):
            while piece := one.recv(65536):
                other.sendall(piece)
        with suppress(OSError):
            other.shutdown(socket.SHUT_RDWR)


@needs_postgres
def test_a_way_to_the_server_that_is_cut_and_comes_back(on_postgres):
    there = make_url(POSTGRES)
    passage = Passage(there.host, there.port or 5432)
    passage.open()
    client = on_postgres(host="127.0.0.1", port=passage.port)
    assert post(client).status_code == 201
    for _ in range(2):
        passage.close()
        assert is_away(post(client))
        assert is_away(client.get("/v1/offcuts"))
        assert client.get("/health/ready").status_code == 503
        passage.open()
        assert post(client).status_code == 201
        assert client.get("/health/ready").status_code == 200
    passage.close()


SECRET = "vault:larkmere/stripe-key"


@pytest.mark.parametrize("form", ["json", "text"])
def test_a_failing_statement_does_not_bring_its_values_into_the_log(on_sqlite, caplog, form):
    client, _, engine = on_sqlite
    with engine.begin() as connection:
        connection.execute(
            text(
                "CREATE TRIGGER refuse BEFORE INSERT ON offcuts "
                "BEGIN SELECT RAISE(ABORT, 'refused'); END"
            )
        )
    content = {**orjson.loads(request_bytes("offcut")), "note": SECRET}
    with caplog.at_level(logging.DEBUG, "service"):
        answered = client.post("/v1/offcuts", json=content)
    assert answered.status_code in (409, 500)
    lines = [formatter(form, "DEBUG").format(record) for record in caplog.records]
    assert any("INSERT INTO offcuts" in line for line in lines), "the failure itself is logged"
    assert SECRET not in "".join(lines)
    assert SECRET not in answered.text


# A file or a place that takes no writes. Whoever tests as root is not held by permissions, and
# asks as nobody meanwhile.

NOBODY = 65534


@contextmanager
def as_one_of_many():
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.fixture
def in_the_open():
    """A client of a service whose directory everybody can reach, and the directory."""
    with TemporaryDirectory() as name:
        place = Path(name)
        place.chmod(0o777)
        app = migrated_app(place)
        client = client_of(app)
        assert post(client).status_code == 201, "what is loaded late is loaded now"
        yield client, place, app.extensions["evenbay"].engine
        app.extensions["evenbay"].engine.dispose()
        place.chmod(0o777)


@pytest.mark.parametrize(
    ("of_file", "of_place", "reads"),
    [
        pytest.param(0o444, 0o777, 200, id="a file that is read only"),
        pytest.param(0o666, 0o555, 503, id="a directory that takes no journal"),
        pytest.param(0o444, 0o555, 503, id="both"),
        pytest.param(0o000, 0o777, 503, id="a file of somebody else"),
    ],
)
def test_a_place_that_takes_no_writes(in_the_open, of_file, of_place, reads):
    client, place, engine = in_the_open
    engine.dispose()  # which takes the write-ahead log with it
    (file,) = place.iterdir()
    file.chmod(of_file)
    place.chmod(of_place)
    with as_one_of_many():
        begun = time.monotonic()
        assert is_away(post(client))
        quote = {"data": request_bytes("quote"), "content_type": "application/json"}
        assert is_away(client.post("/v1/quotes", **quote, headers={"Idempotency-Key": "once"}))
        assert client.get("/v1/offcuts").status_code == reads
        assert client.get("/health/live").status_code == 200
        assert time.monotonic() - begun < 4, "nobody waits for what does not come back by itself"
    engine.dispose()
    place.chmod(0o777)
    for left in place.iterdir():
        left.chmod(0o666)
    assert post(client).status_code == 201
    again = client.post("/v1/quotes", **quote, headers={"Idempotency-Key": "once"})
    assert again.status_code == 201
    assert len(client.get("/v1/quotes").json["quotes"]) == 1


def test_a_disk_that_is_full(on_sqlite):
    """SQLite says SQLITE_FULL of a disk and of its own bound of pages alike."""
    client, _, engine = on_sqlite
    engine.dispose()

    def bound(raw, _record):
        raw.execute(f"PRAGMA max_page_count = {raw.execute('PRAGMA page_count').fetchone()[0]}")

    event.listen(engine, "connect", bound)
    quote = {"data": request_bytes("quote"), "content_type": "application/json"}
    before = client.get("/v1/quotes").json["quotes"]
    assert is_away(client.post("/v1/quotes", **quote))
    assert client.get("/v1/quotes").json["quotes"] == before == []
    event.remove(engine, "connect", bound)
    engine.dispose()
    assert client.post("/v1/quotes", **quote).status_code == 201
    assert len(client.get("/v1/quotes").json["quotes"]) == 1


def test_a_browser_hears_that_the_database_is_away(on_sqlite, monkeypatch):
    """The question whose pages may call asks the database too."""
    monkeypatch.setattr(page_origins, "REMEMBERED", 0.0)
    client, file, engine = on_sqlite
    page = {"Origin": "https://larkmere.example"}
    wish = {"label": "form", "publishable": True, "origins": [page["Origin"]]}
    key = client.post("/v1/keys", json=wish).json["key"]
    form = client.application.test_client()
    form.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {key}"
    body = {"data": request_bytes("layout"), "content_type": "application/json"}
    assert form.post("/v1/layouts", **body, headers=page).status_code == 200
    engine.dispose()
    away = file.parent.with_name("away")
    shutil.move(file.parent, away)
    refused = form.post("/v1/layouts", **body, headers=page)
    assert is_away(refused)
    assert refused.headers["Access-Control-Allow-Origin"] == page["Origin"]
    assert client.application.test_client().options("/v1/layouts", headers=page).status_code == 204
    shutil.move(away, file.parent)
    assert form.post("/v1/layouts", **body, headers=page).status_code == 200

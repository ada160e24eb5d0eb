"""The terminal client of re-pricing runs against a service that runs."""

import subprocess
import sys

import pytest
import urllib3

from tests.live import live, migrate, settings


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    database = f"sqlite:///{tmp_path_factory.mktemp('shop') / 'evenbay.sqlite3'}"
    environ = settings(database, workers=1, work="off")
    migrate(environ)
    with live(environ) as server:
        yield server


@pytest.fixture(scope="module")
def environ(shop):
    return shop.environ | {"EVENBAY_URL": shop.url, "EVENBAY_KEY": shop.key()}


def reprice(environ, *words):
    command = [sys.executable, "-m", "service", "reprice", *words]
    return subprocess.run(
        command, env=environ, capture_output=True, text=True, timeout=60, check=False
    )


def test_what_the_service_refuses_is_told_with_its_place(environ):
    done = reprice(environ, "start", "Nowhere", "--change-rate", "2")
    assert done.returncode == 1
    assert "#/thresholds/change_rate" in done.stderr
    done = reprice(environ, "start", "Nowhere")
    assert (done.returncode, done.stdout) == (1, "")
    assert "No price table is kept under 'Nowhere'" in done.stderr


def test_without_a_key_or_a_service_it_says_what_to_do(environ):
    done = reprice(environ | {"EVENBAY_KEY": ""}, "list")
    assert (done.returncode, "EVENBAY_KEY" in done.stderr) == (2, True)
    done = reprice(environ | {"EVENBAY_KEY": "evb_wrong"}, "list")
    assert (done.returncode, "401" in done.stderr) == (1, True)
    done = reprice(environ, "list", "--url", "http://127.0.0.1:9")
    assert (done.returncode, "is not reached" in done.stderr) == (1, True)
    assert environ["EVENBAY_KEY"] not in done.stderr


def test_the_key_may_lie_in_a_file(environ, tmp_path):
    held = tmp_path / "key"
    held.write_text(environ["EVENBAY_KEY"] + "\n")
    done = reprice(environ | {"EVENBAY_KEY": ""}, "list", "--key-file", str(held))
    assert (done.returncode, done.stdout) == (0, "")
    done = reprice(environ, "list", "--key-file", str(tmp_path / "none"))
    assert (done.returncode, "No such file" in done.stderr) == (2, True)


def test_what_cannot_be_is_told_before_anything_is_begun(environ, tmp_path):
    keep_a_table(environ, "Eaves")
    nowhere = str(tmp_path / "none" / "results.csv")
    done = reprice(environ, "start", "Eaves@1", "--dry-run", "--csv", nowhere)
    assert (done.returncode, done.stdout) == (2, "")
    assert "none is no directory" in done.stderr
    assert "Eaves" not in reprice(environ, "list").stdout
    done = reprice(environ, "list", "--url", "evenbay.example")
    assert (done.returncode, "begins with http" in done.stderr) == (2, True)
    assert "Warning" not in done.stderr
    done = reprice(environ, "start", "Eaves", "--state", "accepted")
    assert (done.returncode, "(choose from " in done.stderr) == (2, True)
    assert "<" not in done.stderr


def test_words_stay_within_their_place_of_an_address(environ):
    done = reprice(environ, "cancel", "x/../..")
    assert (done.returncode, "/v1/repricing-runs/" in done.stderr) == (1, True)


def test_a_name_of_a_table_may_hold_an_at_sign(environ):
    keep_a_table(environ, "Yard@Wexholm")
    for named in ("Yard@Wexholm@1", "Yard@Wexholm@2"):
        done = reprice(environ, "start", named, "--no-wait", "--dry-run")
        assert done.returncode == (0 if named.endswith("1") else 1), done.stderr
    assert "under 'Yard@Wexholm' with a version 2." in done.stderr
    assert "under 'Yard@Wexholm' in force" in reprice(environ, "start", "Yard@Wexholm").stderr


def test_a_run_is_begun_steered_and_watched_to_its_end(environ, tmp_path):
    keep_a_table(environ, "Yard")
    begun = reprice(environ, "start", "Yard@1", "--no-wait", "--dry-run", "--note", "try")
    assert begun.returncode == 0, begun.stderr
    run = begun.stdout.strip()
    assert run in reprice(environ, "list").stdout
    steps = [reprice(environ, step, run).stdout.strip() for step in ("pause", "resume", "cancel")]
    assert steps == ["paused", "planned", "cancelled"]
    sheet = tmp_path / "results.csv"
    watched = reprice(environ, "watch", run, "--csv", str(sheet))
    assert watched.returncode == 1  # what is cancelled did not do what it should
    assert "Yard 1 on" in watched.stdout
    assert "cancelled, dry: nothing was revised" in watched.stdout
    assert sheet.read_text().startswith('"quote","reference"')
    again = reprice(environ, "resume", run)
    assert (again.returncode, "409" in again.stderr) == (1, True)


def keep_a_table(environ, name):
    rows = [{"sku": "POST", "unit_price": "12.40", "unit_of_measure": "C62"}]
    made = urllib3.request(
        "POST",
        f"{environ['EVENBAY_URL']}/v1/price-tables",
        json={"name": name, "currency": "USD", "rows": rows},
        headers={"Authorization": f"Bearer {environ['EVENBAY_KEY']}"},
    )
    assert made.status == 201, made.data

"""The stages of a request, told to whom they concern.

Source: W3C Server Timing, sections 2 (the header), 3.3 (its grammar) and 5 (who may know: "the
server may only provide certain metrics to correctly authenticated users", from memory).
"""

import re

import orjson
import pytest

from service.settings import from_environment
from tests.api.replay import request_bytes
from tests.serving import client_of, key_for

PAGE = "https://larkmere.example"
STAGES = [
    "read", "lay-out", "check", "screen", "advise", "take-off", "cut", "price", "write", "store",
    "total",
]  # fmt: skip
_METRIC = re.compile(r"([!#$%&'*+.^_`|~0-9A-Za-z-]+);dur=([0-9]+\.[0-9])")


def told(answer):
    """Give the names of what a header tells, in order."""
    found = [_METRIC.fullmatch(part) for part in answer.headers["Server-Timing"].split(", ")]
    assert all(found)
    return [one[1] for one in found]


def quoted(client):
    body = {"data": request_bytes("quote"), "content_type": "application/json"}
    return client.post("/v1/quotes", **body)


def test_callers_with_a_key_of_the_dealers_own_are_told(serve):
    client = client_of(serve())
    made = quoted(client)
    assert told(made) == STAGES
    assert told(client.get(made.headers["Location"])) == ["total"]
    assert told(client.post("/v1/quotes", json={})) == ["read", "total"], "refusals too"


def test_nobody_else_is_told(serve):
    app = serve()
    page = client_of(app, key_for(app, scopes=("estimates",), publishable=True, origins=(PAGE,)))
    body = {"data": request_bytes("layout"), "content_type": "application/json"}
    shown = page.post("/v1/layouts", **body, headers={"Origin": PAGE})
    assert shown.status_code == 200
    stranger = app.test_client()
    for answer in (shown, stranger.get("/v1/quotes"), stranger.get("/health/live")):
        assert "Server-Timing" not in answer.headers


@pytest.mark.parametrize("whom", ["on", "off"])
def test_an_operator_may_tell_all_or_none(serve, whom):
    app = serve(server_timing=whom)
    for client in (client_of(app), app.test_client()):
        answer = client.get("/v1/quotes")
        assert ("Server-Timing" in answer.headers) == (whom == "on")


@pytest.mark.parametrize(("said", "whom"), [(None, "keys"), ("on", "on"), ("OFF", "off")])
def test_the_setting(said, whom):
    env = {} if said is None else {"EVENBAY_SERVER_TIMING": said}
    assert from_environment(env).server_timing == whom


def test_a_revision_and_a_sheet_are_timed_and_counted_as_quotes_are(serve):
    client = client_of(serve())
    first = quoted(client).json
    revised = client.post(
        f"/v1/quotes/{first['id']}/revisions",
        data=orjson.dumps({"reference": "Second"}),
        content_type="application/merge-patch+json",
    )
    assert (revised.status_code, told(revised)) == (201, STAGES)
    counted = client.get("/metrics").text
    assert "evenbay_quotes_total 2.0" in counted
    assert 'evenbay_quote_stage_seconds_count{stage="cut"} 2.0' in counted
    again = client.post(f"/v1/quotes/{first['id']}/recompute")
    assert {"lay-out", "cut", "price"} <= set(told(again))
    assert "evenbay_quotes_total 2.0" in client.get("/metrics").text, "none was made"

"""What the documentation shows of re-pricing runs is what the service answers."""

import json

import orjson
import pytest

from tests.api.replay_runs import PACKAGED, RUNS, STORY, requests, told
from tests.api.test_examples import strict, validator_of
from tests.integration.databases import served

ANSWERS = {
    "begun": (RUNS, "post", "202"),
    "paused": (f"{RUNS}/{{run_id}}/pause", "post", "200"),
    "resumed": (f"{RUNS}/{{run_id}}/resume", "post", "200"),
    "finished": (f"{RUNS}/{{run_id}}", "get", "200"),
    "results": (f"{RUNS}/{{run_id}}/results", "get", "200"),
    "list": (RUNS, "get", "200"),
    "cancelled": (f"{RUNS}/{{run_id}}/cancel", "post", "200"),
    "schedule": ("/v1/repricing-schedule", "put", "200"),
    "schedule-read": ("/v1/repricing-schedule", "get", "200"),
}


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    with served(tmp_path_factory.mktemp("story")) as app:
        yield told(app)


@pytest.fixture(scope="module")
def document(app):
    return app.test_client().get("/v1/openapi.json").json


def content(document, name):
    path, method, status = ANSWERS[name]
    return document["paths"][path][method]["responses"][status]["content"]["application/json"]


def test_every_answer_of_the_story_is_shown(story):
    assert set(story) == set(ANSWERS)
    committed = {path.name.removesuffix("-response.json") for path in STORY.glob("*-response.json")}
    assert committed == set(ANSWERS)


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer_is_the_committed_one_and_fits_the_document(story, document, name):
    committed = json.loads((STORY / f"{name}-response.json").read_bytes())
    assert story[name] == committed, (
        "python -m tests.api.replay writes the answers anew, if the change is meant"
    )
    schema = content(document, name)["schema"]
    validator_of(strict(document), schema).validate(committed)


@pytest.mark.parametrize("name", ANSWERS)
def test_the_document_shows_it(document, name):
    shown = content(document, name)["examples"][name]
    assert shown["value"] == json.loads((STORY / f"{name}-response.json").read_bytes())
    assert shown["summary"]


def test_the_document_shows_the_requests_that_were_sent(document):
    runs = document["paths"][RUNS]["post"]["requestBody"]["content"]["application/json"]
    night = document["paths"]["/v1/repricing-schedule"]["put"]["requestBody"]["content"]
    shown = [one["examples"]["demo"] for one in (runs, night["application/json"])]
    assert [one["value"] for one in shown] == [requests()["begin"], requests()["schedule"]]
    assert not any("deck" in one["summary"] for one in shown)


def test_the_package_ships_the_documented_story():
    packaged = {path.name: orjson.loads(path.read_bytes()) for path in PACKAGED.glob("*.json")}
    assert packaged == {path.name: orjson.loads(path.read_bytes()) for path in STORY.glob("*.json")}

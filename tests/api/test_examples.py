"""Every example request is answered as the committed example says, and as the document says."""

import json
from copy import deepcopy

import jsonschema_rs
import orjson
import pytest

from service.api.examples import DEMO
from tests.api.replay import EXAMPLES, names, replay, request_bytes, response_path, route, settled


def strict(document):
    """Give the document with every described object closed, so that nothing goes undescribed."""

    def closed(node):
        if isinstance(node, dict):
            if node.get("type") == "object" and "properties" in node:
                node.setdefault("additionalProperties", False)
            for child in node.values():
                closed(child)
        elif isinstance(node, list):
            for child in node:
                closed(child)
        return node

    return closed(deepcopy(document))


def validator_of(document, schema):
    return jsonschema_rs.validator_for(
        {"$ref": schema["$ref"], "components": document["components"]}
    )


@pytest.fixture(scope="module")
def document(app):
    return strict(app.test_client().get("/v1/openapi.json").json)


def test_each_kind_of_request_has_an_example():
    assert {route(name) for name in names()} == {
        "/v1/quotes",
        "/v1/layouts",
        "/v1/code-checks",
        "/v1/takeoffs",
        "/v1/cut-plans",
        "/v1/offcuts",
        "/v1/price-comparisons",
    }


@pytest.mark.parametrize("name", names())
def test_request_fits_the_document(document, name):
    content = document["paths"][route(name)]["post"]["requestBody"]["content"]
    schema = content["application/json"]["schema"]
    validator_of(document, schema).validate(orjson.loads(request_bytes(name)))


@pytest.mark.parametrize("name", names())
def test_answer_fits_the_document_and_the_committed_one(client, document, name):
    status, answer = replay(client, name)
    responses = document["paths"][route(name)]["post"]["responses"]
    schema = responses[str(status)]["content"]["application/json"]["schema"]
    validator_of(document, schema).validate(orjson.loads(answer))
    assert settled(answer) == json.loads(response_path(name).read_bytes()), (
        "python -m tests.api.replay writes the answers anew, if the change is meant"
    )


def test_no_committed_answer_is_left_without_its_request():
    left = {path.name for path in EXAMPLES.glob("*-response.json")}
    assert left == {response_path(name).name for name in names()}


def test_the_packaged_demo_is_the_documented_one():
    packaged = sorted(DEMO.glob("*-request.json"))
    assert len(packaged) == 7
    for path in packaged:
        assert path.read_bytes() == (EXAMPLES / path.name).read_bytes(), path.name

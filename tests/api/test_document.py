"""The OpenAPI document and the page that shows it."""

import re
from pathlib import Path

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.api.document import STATIC, document
from service.api.lines import NDJSON
from service.usecases.events import EventType

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"
METHODS = ("get", "post", "put", "patch", "delete")


@pytest.fixture
def served(client):
    response = client.get("/v1/openapi.json")
    assert (response.status_code, response.content_type) == (200, "application/json")
    return response


@pytest.fixture
def operations(served):
    return {
        (method, path): operation
        for path, item in served.json["paths"].items()
        for method, operation in item.items()
        if method in METHODS
    }


def test_the_committed_document_is_the_served_one(served):
    assert served.data == COMMITTED.read_bytes(), (
        "write it anew: evenbay openapi openapi/openapi.json"
    )


def test_the_document_is_the_same_every_time(app, served):
    assert document(app.extensions["openapi"]) == served.data


def test_the_document_is_openapi_3_1(served):
    assert served.json["openapi"].startswith("3.1.")
    OpenAPIV31SpecValidator(served.json).validate()


def test_every_route_is_described(app, operations):
    undescribed = {
        "documentation.openapi",
        "documentation.docs",
        "documentation.assets",
        "form.page",
        "form.assets",
        "metrics.told",
    }
    routed = {
        (method.lower(), re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule))
        for rule in app.url_map.iter_rules()
        for method in rule.methods - {"HEAD", "OPTIONS"}
        if rule.endpoint not in undescribed
    }
    assert routed == set(operations)


def test_every_operation_has_a_name_and_a_summary(operations):
    names = [operation["operationId"] for operation in operations.values()]
    assert len(set(names)) == len(names)
    assert all(operation["summary"] for operation in operations.values())


def test_every_refusal_is_described_as_a_problem(served, operations):
    responses = served.json["components"]["responses"]
    for operation in operations.values():
        for status, response in operation["responses"].items():
            if status >= "400":
                if "$ref" in response:
                    content = responses[response["$ref"].rsplit("/", 1)[1]]["content"]
                    assert list(content) == ["application/problem+json"]
                else:  # to those who ask for text
                    assert list(response["content"]) == ["application/problem+json", "text/plain"]
                    assert operation["operationId"] == "getEstimate"


def test_every_body_has_its_refusals_and_an_example(operations):
    with_body = [operation for operation in operations.values() if "requestBody" in operation]
    assert len(with_body) >= 14
    for operation in with_body:
        by_line = NDJSON in operation["requestBody"]["content"]  # what is wrong, each line tells
        refusals = {"400", "413", "415", "500"} | (set() if by_line else {"422"})
        assert refusals <= set(operation["responses"])
        (body, *_patch) = operation["requestBody"]["content"].values()
        assert body["examples"]["demo"]["value"]


def inline(node, place=()):
    """Give the place of each object inside another."""
    if isinstance(node, list):
        for index, entry in enumerate(node):
            yield from inline(entry, (*place, index))
    elif isinstance(node, dict):
        if place and node.get("type") == "object" and "properties" in node:
            yield place
        for key, below in node.items():
            if key not in ("examples", "default"):
                yield from inline(below, (*place, key))


def test_generated_clients_find_a_name_for_every_object(served):
    schemas = served.json["components"]["schemas"]
    assert len(schemas) > 200
    assert not [(name, *place) for name, schema in schemas.items() for place in inline(schema)]
    assert not list(inline(served.json["paths"], ("paths",)))


def test_no_object_has_a_member_of_its_own_name(served):
    # A generated reader keeps both in variables of that name, and loses one.
    for name, schema in served.json["components"]["schemas"].items():
        assert re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower() not in schema.get("properties", {})


def test_every_type_of_event_is_described_with_its_headers(served):
    told = served.json["webhooks"]
    assert told.keys() == {kind.value for kind in EventType}
    for described in told.values():
        post = described["post"]
        headers = {one["name"] for one in post["parameters"] if one["in"] == "header"}
        assert headers == {"webhook-id", "webhook-timestamp", "webhook-signature"}
        assert list(post["requestBody"]["content"]) == ["application/cloudevents+json"]


def test_requests_refuse_unknown_members_in_the_document_too(served):
    schemas = served.json["components"]["schemas"]
    requests = [schema for name, schema in schemas.items() if name.endswith("Request")]
    assert len(requests) > 80
    assert all(schema["additionalProperties"] is False for schema in requests)


def test_the_page_asks_nothing_of_other_hosts(client):
    with client.get("/docs") as page:
        assert page.status_code == 200
        policy, text = page.headers["Content-Security-Policy"], page.text
    assert "default-src 'none'" in policy
    assert "http" not in policy
    assert "unsafe" not in policy
    asked = re.findall(r'(?:src|href)="([^"]+)"', text)
    assert len(asked) >= 4
    for path in asked:
        assert path.startswith("/")
        with client.get(path) as answer:
            assert answer.status_code == 200, path


def test_the_page_has_no_inline_script(client):
    with client.get("/docs") as page:
        assert not re.search(r"<script(?![^>]*\bsrc=)", page.text)


def test_our_script_names_no_other_host():
    assert "//" not in re.sub(r"^//.*$", "", (STATIC / "docs.js").read_text(), flags=re.M)


def test_licence_of_the_page_s_library_is_shipped():
    assert "Apache License" in (STATIC / "swagger-ui" / "LICENSE").read_text()
    assert (STATIC / "swagger-ui" / "NOTICE").exists()

"""schemathesis holds the application against its own document, with every check on.

EVENBAY_THOROUGH=1 generates more, and takes minutes.
"""

import atexit
import os
import tempfile
from collections import Counter
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import ClassVar
from uuid import uuid4

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.errors import FlakyStrategyDefinition
from schemathesis.config import SchemathesisConfig

from service.api.lines import NDJSON
from tests.integration.databases import served
from tests.serving import key_for
from tests.shop import stock

_running = ExitStack()
atexit.register(_running.close)
_data = _running.enter_context(tempfile.TemporaryDirectory(prefix="evenbay-"))
app = _running.enter_context(served(Path(_data)))
KEY = key_for(app)
stock(app.extensions["evenbay"].engine)  # what the demo bodies name


def uncompressed(serve):
    """Serve without gzip: schemathesis asks a WSGI application for it, and does not decode it."""

    def plain(environ, start_response):
        environ.pop("HTTP_ACCEPT_ENCODING", None)
        return serve(environ, start_response)

    return plain


app.wsgi_app = uncompressed(app.wsgi_app)

THOROUGH = bool(os.environ.get("EVENBAY_THOROUGH"))
schema = schemathesis.openapi.from_wsgi(
    "/v1/openapi.json",
    app,
    config=SchemathesisConfig.from_path(
        Path(__file__).with_name("schemathesis.toml" if THOROUGH else "schemathesis-quick.toml")
    ),
)


@schemathesis.serializer(NDJSON)
def lines(context, value):
    """Send lines as they are; schemathesis knows no media type of lines."""
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "replace")


@schema.auth()
class Shown:
    """Shows the key with every request but those that try to do without."""

    def get(self, case, context):
        return KEY

    def set(self, case, data, context):
        case.headers["Authorization"] = f"Bearer {data}"


# Whole orders are large to generate, and shrinking one takes minutes.
GENERATED = settings(
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@schema.parametrize()
@settings(GENERATED, max_examples=100 if THOROUGH else 12)
def test_every_operation_keeps_to_the_document(case):
    case.call_and_validate()


def links():
    """Every link of the document: whence, at which status, its name, what it says."""
    for path in schema.raw_schema["paths"].values():
        for described in (of for method, of in path.items() if method != "parameters"):
            for status, response in described["responses"].items():
                for name, link in response.get("links", {}).items():
                    yield described["operationId"], int(status), name, link


LINKS = tuple(links())


def demo_body(operation_id):
    """The body that the document shows for an operation; no generator would hit upon one."""
    shown = schema.find_operation_by_id(operation_id).definition.raw.get("requestBody")
    if shown is None:
        return {}
    media_type, content = next(iter(shown["content"].items()))
    body = next(iter(content["examples"].values()))["value"]
    if "name" in body and operation_id.startswith("create"):
        body = {**body, "name": uuid4().hex}  # names are taken once
    return {"body": body, "media_type": media_type}


def reached(operation_id):
    """Call an operation whose path names nothing that has to be made, or that a link leads to."""
    if "{" not in schema.find_operation_by_id(operation_id).path:
        return called(operation_id, {})
    return followed(next(link for link in LINKS if link[3]["operationId"] == operation_id))


def followed(link):
    """Make what a link leads from, anew, and follow it."""
    whence, status, _, told = link
    case, response = reached(whence)
    assert response.status_code == status
    values = {name: value_of(told, case, response) for name, told in told["parameters"].items()}
    return called(told["operationId"], values)


def value_of(expression, case, response):
    """Evaluate the two runtime expressions that the document's links are made of."""
    place, _, name = expression.rpartition("#/" if "#/" in expression else ".")
    return {"$response.body": response.json(), "$request.path": case.path_parameters}[place][name]


def called(operation_id, values):
    """Call an operation and hold its answer against the document."""
    operation = schema.find_operation_by_id(operation_id)
    inside = {name: value for name, value in values.items() if f"{{{name}}}" in operation.path}
    query = {name: value for name, value in values.items() if name not in inside}
    case = operation.Case(path_parameters=inside, query=query, **demo_body(operation_id))
    return case, case.call_and_validate(headers={"Authorization": f"Bearer {KEY}"})


def test_the_document_links_what_is_made_with_what_can_be_done_to_it():
    assert {"createQuote", "reviseQuote", "addOffcut", "createKey", "rotateKey"} <= SOURCES
    assert len(LINKS) >= 34


@pytest.mark.parametrize("link", [pytest.param(one, id=f"{one[0]}-{one[2]}") for one in LINKS])
def test_a_link_leads_where_it_says(link):
    _, response = followed(link)
    assert 200 <= response.status_code < 300, response.text


SOURCES = {whence for whence, *_ in LINKS}
LINKED = {link["operationId"] for *_, link in LINKS}


class Reader(schema.as_state_machine()):
    """Makes what links lead from by the demo bodies, and takes linked steps in any order."""

    went_well: ClassVar = Counter()
    failed: ClassVar = []

    def before_call(self, case):
        operation_id = case.operation.definition.raw["operationId"]
        if operation_id in SOURCES and demo_body(operation_id):
            case.body, case.media_type = demo_body(operation_id).values()
        # One that was drawn before would be remembered from another run of steps.
        if "Idempotency-Key" in case.headers:
            case.headers["Idempotency-Key"] = uuid4().hex

    def after_call(self, response, case):
        Reader.went_well[case.operation.definition.raw["operationId"]] += response.status_code < 300

    def validate_response(self, response, case, **more):
        try:
            super().validate_response(response, case, **more)
        except BaseException as wrong:
            Reader.failed.append(wrong)
            raise


def test_steps_in_any_order_keep_to_the_document():
    for number in range(10 if THOROUGH else 5):
        # A walk ends where a step that it takes again is answered in another way than before,
        # since the first one was kept; what such a walk has found wrong counts all the same.
        with suppress(FlakyStrategyDefinition):
            walk = seed(number)(Reader)
            walk.run(settings=settings(GENERATED, max_examples=8, stateful_step_count=8))
    assert not Reader.failed
    went_well = {name for name, times in Reader.went_well.items() if times} & LINKED
    # Each link has a test of its own above; this walk must merely get somewhere by them.
    assert len(went_well) >= len(LINKED) / 4, Reader.went_well

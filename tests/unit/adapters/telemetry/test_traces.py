"""Spans of requests and stages, in the caller's trace, by template."""

import pytest

sdk = pytest.importorskip("opentelemetry.sdk.trace.export", reason="the extra otel")
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter  # noqa: E402
from opentelemetry.trace import StatusCode  # noqa: E402

from service.adapters.telemetry.requests import Telemetry, register  # noqa: E402
from service.adapters.telemetry.stages import StageWatch  # noqa: E402
from service.adapters.telemetry.traces import Traces  # noqa: E402

# The example of W3C Trace Context, section 3.2.3.
TRACE, PARENT = "0af7651916cd43dd8448eb211c80319c", "b7ad6b7169203331"
SECRET = "vault:larkmere/stripe-key"


@pytest.fixture
def traced():
    """A small application, its spans, and its watch."""
    from flask import Flask

    spans = InMemorySpanExporter()
    traces = Traces(sdk.SimpleSpanProcessor(spans))
    watch = StageWatch(None, traces)
    app = Flask("test")
    register(app, Telemetry(None, traces, watch, timing="off"))

    @app.get("/v1/quotes/<quote_id>")
    def view(quote_id):
        with watch.stage("lay-out"), watch.stage("cut"):
            if quote_id == "broken":
                raise RuntimeError(SECRET)
        return ""

    yield app.test_client(), spans
    traces.provider.shutdown()


def test_stages_stand_below_their_request_in_the_callers_trace(traced):
    client, spans = traced
    client.get("/v1/quotes/17?c=Smith", headers={"traceparent": f"00-{TRACE}-{PARENT}-01"})
    cut, lay_out, request = spans.get_finished_spans()
    assert [span.name for span in (request, lay_out, cut)] == [
        "GET /v1/quotes/{quote_id}", "lay-out", "cut"
    ]  # fmt: skip
    assert {format(span.context.trace_id, "032x") for span in (cut, lay_out, request)} == {TRACE}
    assert format(request.parent.span_id, "016x") == PARENT
    assert lay_out.parent.span_id == request.context.span_id
    assert cut.parent.span_id == lay_out.context.span_id
    assert dict(request.attributes) == {
        "http.request.method": "GET",
        "http.route": "/v1/quotes/{quote_id}",
        "http.response.status_code": 200,
    }
    assert request.resource.attributes["service.name"] == "evenbay"


def test_requests_after_each_other_are_traces_of_their_own(traced):
    client, spans = traced
    for _ in range(2):
        client.get("/v1/quotes/17")
    requests = [span for span in spans.get_finished_spans() if span.parent is None]
    assert len({span.context.trace_id for span in requests}) == 2


def test_a_failure_is_marked_without_its_words(traced):
    client, spans = traced
    client.get("/v1/quotes/broken")
    request = spans.get_finished_spans()[-1]
    assert request.status.status_code is StatusCode.ERROR
    assert SECRET not in "".join(span.to_json() for span in spans.get_finished_spans())

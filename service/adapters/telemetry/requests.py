"""Looks on at every request: times it, counts it, traces it, and writes its line to the log.

Source: W3C Server Timing, sections 2 (the header) and 5 (whom it may be told).
"""

import logging
from dataclasses import dataclass
from time import perf_counter

from flask import Blueprint, Flask, Response, g, request

from service.adapters.telemetry.metrics import Metrics
from service.adapters.telemetry.routes import method_asked, route_asked
from service.adapters.telemetry.stages import Passed, StageWatch
from service.adapters.telemetry.traces import Traces

_log = logging.getLogger("service.requests")


@dataclass(frozen=True, slots=True)
class Telemetry:
    """Who looks on.

    Attributes:
        metrics: None where they are off.
        traces: None where they are off.
        watch: For the use cases.
        timing: Who is told how long the stages took: "keys", "on" for everybody, "off".
    """

    metrics: Metrics | None
    traces: Traces | None
    watch: StageWatch
    timing: str


def register(app: Flask, telemetry: Telemetry) -> None:
    """Look on at every request; registered first, it sees each answer as it leaves."""

    def begin() -> None:
        g.begun = perf_counter()
        g.stages = telemetry.watch.begin()
        if telemetry.traces:
            g.tracing = telemetry.traces.request(method_asked(), route_asked(), request.headers)
            g.span = g.tracing.__enter__()

    def end(response: Response) -> Response:
        seconds = perf_counter() - g.begun
        if telemetry.timing == "on" or (telemetry.timing == "keys" and _is_the_dealer()):
            response.headers["Server-Timing"] = server_timing(g.stages, seconds)
        if telemetry.metrics:
            telemetry.metrics.answered(method_asked(), route_asked(), response.status_code, seconds)
        if telemetry.traces:
            telemetry.traces.answered(g.span, response.status_code)
        telemetry.watch.end()
        _write(response, seconds)
        return response

    def close(_error: BaseException | None) -> None:
        if "tracing" in g:
            g.pop("tracing").__exit__(None, None, None)

    app.before_request(begin)
    app.after_request(end)
    app.teardown_request(close)
    if telemetry.metrics:
        app.register_blueprint(_exposition(telemetry.metrics))


def _is_the_dealer() -> bool:
    """Tell whether the caller was let in, and not by a key that anybody can read in a page."""
    caller = g.get("caller")
    return caller is not None and not caller.publishable


def server_timing(passed: Passed, seconds: float) -> str:
    """Write the durations of stages and of the whole. [ms]

    Example:
        >>> server_timing([("lay-out", 0.0021), ("cut", 0.25)], 0.26)
        'lay-out;dur=2.1, cut;dur=250.0, total;dur=260.0'
    """
    return ", ".join(
        f"{name};dur={taken * 1000:.1f}" for name, taken in [*passed, ("total", seconds)]
    )


def _write(response: Response, seconds: float) -> None:
    _log.info(
        "%s %s %s",
        method_asked(),
        route_asked(),
        response.status_code,
        extra={"status": response.status_code, "duration_ms": round(seconds * 1000, 1)},
    )


def _exposition(metrics: Metrics) -> Blueprint:
    blueprint = Blueprint("metrics", __name__)

    @blueprint.get("/metrics")
    def told() -> Response:
        content, media_type = metrics.told(request.headers.get("Accept", ""))
        headers = {"Cache-Control": "no-store"}
        return Response(content, content_type=media_type, headers=headers)

    return blueprint

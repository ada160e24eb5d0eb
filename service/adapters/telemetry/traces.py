"""OpenTelemetry spans of requests and stages, where the extra "otel" is installed and asked for.

Names and attributes follow the semantic conventions for HTTP spans; paths, queries and messages
of exceptions stay out, because they may hold data.
"""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import TYPE_CHECKING, Any

from service import __version__

if TYPE_CHECKING:
    from opentelemetry.sdk.trace import SpanProcessor


class Traces:
    """Sends spans.

    Attributes:
        provider: The OpenTelemetry SDK's; shut it down to send what waits.
    """

    def __init__(self, processor: "SpanProcessor") -> None:
        from opentelemetry import propagate, trace
        from opentelemetry.sdk.resources import OTELResourceDetector, Resource
        from opentelemetry.sdk.trace import TracerProvider

        ours = Resource({"service.name": "evenbay", "service.version": __version__})
        named = OTELResourceDetector().detect()  # the operator's own words come first
        self.provider = TracerProvider(resource=Resource.create().merge(ours).merge(named))
        self.provider.add_span_processor(processor)
        self._tracer = self.provider.get_tracer("evenbay", __version__)
        self._extract = propagate.extract
        self._server = trace.SpanKind.SERVER
        self._failed = trace.Status(trace.StatusCode.ERROR)

    @contextmanager
    def request(self, method: str, route: str, headers: Any) -> Iterator[Any]:
        """Trace a request within the caller's trace (W3C Trace Context), if it sent one."""
        with self._tracer.start_as_current_span(
            f"{method} {route}",
            context=self._extract(headers),
            kind=self._server,
            attributes={"http.request.method": method, "http.route": route},
            record_exception=False,
            set_status_on_exception=False,
        ) as span:
            yield span

    def answered(self, span: Any, status: int) -> None:
        """Note how a request was answered."""
        span.set_attribute("http.response.status_code", status)
        if status >= 500:
            span.set_status(self._failed)

    def stage(self, name: str) -> AbstractContextManager[Any]:
        """Trace a stage within its request."""
        span: AbstractContextManager[Any] = self._tracer.start_as_current_span(
            name, record_exception=False, set_status_on_exception=False
        )
        return span


def open_traces(endpoint: str) -> Traces:
    """Send spans by OTLP over HTTP.

    Args:
        endpoint: Address of the collector; "" leaves it to the OTEL_ variables.

    Raises:
        ValueError: The extra "otel" is not installed.
    """
    try:
        from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
        from opentelemetry.sdk.trace.export import BatchSpanProcessor
    except ImportError:
        raise ValueError("traces are asked for; pip install 'evenbay[otel]' to send them") from None
    address = endpoint.rstrip("/") + "/v1/traces" if endpoint else None
    return Traces(BatchSpanProcessor(OTLPSpanExporter(endpoint=address)))

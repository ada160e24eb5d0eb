"""The clock beside the stages of a job: what the use cases' port of a watch does."""

from collections.abc import Sequence
from contextlib import AbstractContextManager
from contextvars import ContextVar
from time import perf_counter
from types import TracebackType

from service.adapters.telemetry.metrics import Metrics
from service.adapters.telemetry.traces import Traces
from service.domain.cutting.plan import CutPlan

Passed = list[tuple[str, float]]
_passed: ContextVar[Passed | None] = ContextVar("stages passed", default=None)


class StageWatch:
    """Times every stage for the metrics, the traces and the request it belongs to."""

    def __init__(self, metrics: Metrics | None, traces: Traces | None) -> None:
        self._metrics = metrics
        self._traces = traces

    def begin(self) -> Passed:
        """Begin the list of stages of a request; it grows as they pass."""
        passed: Passed = []
        _passed.set(passed)
        return passed

    def end(self) -> None:
        """End the list: what a stream does after its headers are gone would only make it longer."""
        _passed.set(None)

    def stage(self, name: str) -> AbstractContextManager[None]:
        """Time a stage."""
        return _Stage(name, self._metrics, self._traces)

    def quoted(self, plans: Sequence[CutPlan]) -> None:
        """Count a quote."""
        if self._metrics:
            self._metrics.quoted(plans)


class _Stage(AbstractContextManager[None]):
    __slots__ = ("_metrics", "_name", "_span", "_start")

    def __init__(self, name: str, metrics: Metrics | None, traces: Traces | None) -> None:
        self._name = name
        self._metrics = metrics
        self._span = traces.stage(name) if traces else None

    def __enter__(self) -> None:
        if self._span:
            self._span.__enter__()
        self._start = perf_counter()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        seconds = perf_counter() - self._start
        if self._span:
            self._span.__exit__(kind, error, trace)
        if self._metrics:
            self._metrics.passed(self._name, seconds)
        passed = _passed.get()
        if passed is not None:
            passed.append((self._name, seconds))

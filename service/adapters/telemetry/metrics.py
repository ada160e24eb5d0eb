"""Counts and durations for Prometheus; labels are route templates, statuses and stages only.

Several worker processes add up by files in the directory that PROMETHEUS_MULTIPROC_DIR names; it
must be set before this module is imported.

Source: Prometheus documentation, "Metric and label naming", "Multiprocess mode (Gunicorn)".
"""

import os
from collections.abc import Sequence

from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.exposition import choose_encoder
from prometheus_client.multiprocess import MultiProcessCollector

from service.domain.cutting.plan import CutPlan

DIRECTORY = "PROMETHEUS_MULTIPROC_DIR"
_REQUEST_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)
_STAGE_SECONDS = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)


class Metrics:
    """What one application counts."""

    def __init__(self) -> None:
        self._own = own = CollectorRegistry(support_collectors_without_names=True)
        labels = ("method", "route", "status")
        self._requests = Counter("evenbay_requests", "Requests answered.", labels, registry=own)
        self._seconds = Histogram(
            "evenbay_request_seconds",
            "Time to answer a request.",
            labels,
            registry=own,
            buckets=_REQUEST_SECONDS,
        )
        self._stages = Histogram(
            "evenbay_quote_stage_seconds",
            "Time a stage of a quote takes.",
            ("stage",),
            registry=own,
            buckets=_STAGE_SECONDS,
        )
        self._of_stage: dict[str, Histogram] = {}  # there are few; to look one up takes its time
        self._quotes = Counter("evenbay_quotes", "Quotes made and kept.", registry=own)
        self._plans = Counter(
            "evenbay_cut_plans",
            "Cut plans of quotes, by whether no cheaper one can be.",
            ("proven",),
            registry=own,
        )

    def answered(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count a request."""
        self._requests.labels(method, route, status).inc()
        self._seconds.labels(method, route, status).observe(seconds)

    def passed(self, stage: str, seconds: float) -> None:
        """Count a stage."""
        known = self._of_stage.get(stage)
        if known is None:
            known = self._of_stage[stage] = self._stages.labels(stage)
        known.observe(seconds)

    def quoted(self, plans: Sequence[CutPlan]) -> None:
        """Count a quote and its cut plans."""
        self._quotes.inc()
        for plan in plans:
            self._plans.labels("yes" if plan.proven_optimal else "no").inc()

    def told(self, accept: str) -> tuple[bytes, str]:
        """Give everything counted, over all workers, and its media type."""
        registry = self._own
        if os.environ.get(DIRECTORY):
            registry = CollectorRegistry(support_collectors_without_names=True)
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        write, media_type = choose_encoder(accept)
        return write(registry), media_type

"""What is counted, and that nothing a caller makes up becomes a label."""

from types import SimpleNamespace

import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.adapters.telemetry.metrics import Metrics
from service.adapters.telemetry.stages import StageWatch


def samples(metrics, accept=""):
    content, _ = metrics.told(accept)
    return {
        (sample.name, *sorted(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(content.decode())
        for sample in family.samples
    }


def test_requests_are_counted_and_timed():
    metrics = Metrics()
    for seconds in (0.25, 0.5):
        metrics.answered("GET", "/v1/codes", 200, seconds)
    labels = (("method", "GET"), ("route", "/v1/codes"), ("status", "200"))
    counted = samples(metrics)
    assert counted["evenbay_requests_total", *labels] == 2
    assert counted["evenbay_request_seconds_sum", *labels] == 0.75
    assert counted["evenbay_request_seconds_count", *labels] == 2


def test_quotes_and_what_is_proven_of_their_plans():
    metrics = Metrics()
    plans = [SimpleNamespace(proven_optimal=proven) for proven in (True, True, False)]
    StageWatch(metrics, None).quoted(plans)
    counted = samples(metrics)
    assert counted["evenbay_quotes_total",] == 1
    assert counted["evenbay_cut_plans_total", ("proven", "yes")] == 2
    assert counted["evenbay_cut_plans_total", ("proven", "no")] == 1


def test_a_stage_is_timed_even_if_it_fails():
    metrics = Metrics()
    watch = StageWatch(metrics, None)
    passed = watch.begin()
    with pytest.raises(RuntimeError, match="dull blade"), watch.stage("cut"):
        raise RuntimeError("dull blade")
    assert [name for name, _ in passed] == ["cut"]
    assert samples(metrics)["evenbay_quote_stage_seconds_count", ("stage", "cut")] == 1


def test_two_applications_count_apart():
    one, other = Metrics(), Metrics()
    one.answered("GET", "/v1/codes", 200, 0.1)
    assert samples(one) != samples(other)


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        ("", "text/plain"),
        ("application/openmetrics-text; version=1.0.0", "application/openmetrics-text"),
    ],
)
def test_the_scraper_chooses_the_format(accept, media_type):
    assert Metrics().told(accept)[1].startswith(media_type)


def test_stages_after_the_answer_is_begun_are_not_listed():
    # A stream passes the stages of a quote at each of its lines.
    watch = StageWatch(None, None)
    passed = watch.begin()
    for _ in range(2):
        with watch.stage("read"):
            pass
        watch.end()
    assert [name for name, _ in passed] == ["read"]

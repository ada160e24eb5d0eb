"""Settings: every variable that the README names is read, and a wrong one is told by its name."""

import re
from dataclasses import fields, replace
from pathlib import Path

import pytest

from service.settings import Settings, from_environment

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
NUMBERS = {
    "EVENBAY_CUT_SECONDS": "cut_seconds",
    "EVENBAY_EVENT_DAYS": "event_days",
    "EVENBAY_LEASE_SECONDS": "lease_seconds",
    "EVENBAY_MAX_BODY_BYTES": "max_body_bytes",
    "EVENBAY_MAX_NESTING": "max_nesting",
    "EVENBAY_PORT": "port",
    "EVENBAY_RATE_PER_MINUTE": "rate_per_minute",
    "EVENBAY_RUN_LEASE_SECONDS": "run_lease_seconds",
    "EVENBAY_THREADS": "threads",
    "EVENBAY_WORKERS": "workers",
}


def test_every_variable_that_is_read_stands_in_the_readme():
    read = set(re.findall(r'"(EVENBAY_\w+)"', (ROOT / "service" / "settings.py").read_text()))
    told = set(re.findall(r"`(EVENBAY_\w+)`", README))
    told |= {f"EVENBAY_OIDC{rest}" for rest in re.findall(r"`(_\w+)`", README)}
    assert read - told == set()


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_is_read_alone_and_refused_by_its_name(name):
    plain, asked = from_environment({}), from_environment({name: "7"})
    assert asked == replace(plain, **{NUMBERS[name]: 7})
    for wrong in ("0", "-1", "7.5", "many", "٧"):
        with pytest.raises(ValueError, match=name):
            from_environment({name: wrong})


def test_no_environment_gives_the_defaults_but_for_what_the_machine_decides():
    given, plain = from_environment({}), Settings("")
    decided = {"database_url", "workers", "rate_per_minute"}
    same = {one.name for one in fields(Settings)} - decided
    assert {name: getattr(given, name) for name in same} == {
        name: getattr(plain, name) for name in same
    }

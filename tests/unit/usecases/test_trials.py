"""Trials: layouts are kept, and a search ends when its share is spent."""

from dataclasses import replace

import pytest

from service.adapters.code_library import open_library
from service.domain.compliance.site import NOTHING_SAID
from service.domain.layout.choice_records import Preference
from service.domain.layout.lay_out import lay_out
from service.domain.lengths import inches
from service.usecases.advise import advise
from service.usecases.check_code import check_job
from service.usecases.orders import Units
from service.usecases.remedy import Job
from service.usecases.trials import MOST_TRIALS, OutOfTrials, Trials
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck

CLAUSES = open_library().clauses("IRC", "2021")
LOW = Job(one_run_deck(), replace(SYSTEM, guard_height_nm=inches(30)), NOTHING_SAID, Preference())
LAYOUT = lay_out(LOW.deck, LOW.system)


def _higher(inches_more: int) -> Job:
    height = LOW.system.guard_height_nm + inches(inches_more)
    return replace(LOW, system=replace(LOW.system, guard_height_nm=height))


def test_a_layout_tried_before_costs_less() -> None:
    trials = Trials(LOW, LAYOUT)
    assert trials.left == MOST_TRIALS
    trials.check(_higher(1), CLAUSES)
    first = MOST_TRIALS - trials.left
    trials.check(_higher(1), CLAUSES)
    assert MOST_TRIALS - trials.left - first < first / 4


def test_a_share_ends_and_leaves_the_rest() -> None:
    trials = Trials(LOW, LAYOUT)
    trials.share(20)

    def try_on() -> None:
        for more in range(50):
            trials.check(_higher(more % 6), CLAUSES)

    with pytest.raises(OutOfTrials):
        try_on()
    left = trials.left
    assert left > MOST_TRIALS / 2
    trials.share(1)
    trials.check(_higher(1), CLAUSES)
    assert trials.left < left


def test_advice_without_trials_says_that_not_all_was_tried() -> None:
    found = check_job(LOW, LAYOUT, CLAUSES, "IRC 2021", Units.IMPERIAL).findings
    trials = Trials(LOW, LAYOUT)
    trials.left = 0.0
    advice = advise(LOW, LAYOUT, CLAUSES, found, Units.IMPERIAL, trials=trials)
    assert advice
    assert all(one.cut_short and not one.change for one in advice)


def test_several_codes_share_the_trials() -> None:
    trials = Trials(LOW, LAYOUT)
    found = check_job(LOW, LAYOUT, CLAUSES, "IRC 2021", Units.IMPERIAL).findings
    advise(LOW, LAYOUT, CLAUSES, found, Units.IMPERIAL, trials=trials)
    once = MOST_TRIALS - trials.left
    again = advise(LOW, LAYOUT, CLAUSES, found, Units.IMPERIAL, trials=trials)
    assert MOST_TRIALS - trials.left - once < once
    assert all(one.change and not one.cut_short for one in again)

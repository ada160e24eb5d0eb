"""Which steps a quote may take, and what it holds on to meanwhile."""

from datetime import date, timedelta
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import QuoteClosed
from service.domain.pricing.life import (
    Hold,
    QuoteLife,
    State,
    accept,
    decline,
    saw_bars,
    state_on,
)

LAST = date(2026, 12, 24)
AFTER = LAST + timedelta(days=1)
ISSUED = QuoteLife("q", valid_until=LAST)
ACCEPTED = accept(ISSUED, LAST)
SAWN = saw_bars(ACCEPTED, LAST, keep_remnants=False)
DECLINED = decline(ISSUED, LAST)
KEEP = partial(saw_bars, keep_remnants=True)


@pytest.mark.parametrize(
    ("life", "day", "state"),
    [
        (ISSUED, LAST, State.ISSUED),
        (ISSUED, AFTER, State.EXPIRED),
        (ACCEPTED, LAST, State.ACCEPTED),
        (ACCEPTED, AFTER, State.EXPIRED),
        (SAWN, AFTER, State.ACCEPTED),
        (DECLINED, AFTER, State.DECLINED),
        (QuoteLife("q"), date.max, State.ISSUED),
    ],
)
def test_state_on_a_day(life, day, state):
    assert state_on(life, day) is state


@pytest.mark.parametrize(
    ("step", "life", "day", "message"),
    [
        (accept, ISSUED, AFTER, "is expired since 2026-12-24 has passed; it cannot be accepted"),
        (accept, DECLINED, LAST, "is declined; it cannot be accepted"),
        (decline, ISSUED, AFTER, "is expired"),
        (decline, SAWN, LAST, "bars of this quote are sawn"),
        (KEEP, ISSUED, LAST, "is issued; it cannot be cut"),
        (KEEP, DECLINED, LAST, "is declined; it cannot be cut"),
        (KEEP, ACCEPTED, AFTER, "is expired"),
    ],
)
def test_steps_that_do_not_follow(step, life, day, message):
    with pytest.raises(QuoteClosed, match=message):
        step(life, day)


@pytest.mark.parametrize(
    ("step", "life"), [(accept, ACCEPTED), (decline, DECLINED), (KEEP, KEEP(ACCEPTED, LAST))]
)
def test_a_step_taken_twice_changes_nothing(step, life):
    assert step(life, LAST) is life


def test_what_a_quote_holds():
    assert ISSUED.hold is None
    assert ACCEPTED.hold == Hold(until=LAST, used=False)
    assert SAWN.hold == Hold(until=None, used=True)
    assert decline(ACCEPTED, LAST).hold is None


def test_remnants_may_be_kept_later_and_only_once():
    kept = KEEP(SAWN, AFTER)
    assert (SAWN.remnants_kept, kept.remnants_kept) == (False, True)
    assert saw_bars(kept, AFTER, keep_remnants=False) is kept


@given(st.lists(st.tuples(st.sampled_from([accept, decline, KEEP]), st.integers(-2, 2))))
def test_versions_count_changes_and_only_accepted_quotes_hold(steps):
    life = ISSUED
    for step, days in steps:
        before = life
        try:
            life = step(life, LAST + timedelta(days=days))
        except QuoteClosed:
            continue
        assert life.version == before.version + (life != before)
        assert (life.hold is None) == (life.decided is not State.ACCEPTED)
        assert not life.sawn or life.decided is State.ACCEPTED

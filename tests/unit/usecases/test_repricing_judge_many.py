"""Many quotes are judged as each of them is."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from service.usecases.repricing.judge import Judge, Margin, margins_ppm

PARTS = st.none() | st.fractions(0, 1, max_denominator=1000)
MINOR = st.integers(0, 2**40) | st.integers(0, 60)
QUOTES = st.lists(st.tuples(MINOR, MINOR, MINOR, MINOR), max_size=8)


@given(PARTS, st.none() | st.integers(0, 50).map(Fraction), PARTS, QUOTES)
def test_many_are_judged_as_one_is(rate, amount, floor, quotes):
    judge = Judge(rate, amount, floor)
    before, after, nets, costs = ([one[n] for one in quotes] for n in range(4))
    margins = [Margin(net, cost) for net, cost in zip(nets, costs, strict=True)]
    under = judge.under_floors(nets, costs)
    assert under == [judge.under_floor(margin) for margin in margins]
    assert judge.outcomes(before, after, under) == [
        judge.outcome(b, a, under_floor=u) for b, a, u in zip(before, after, under, strict=True)
    ]
    assert margins_ppm(nets, costs) == [margin.ppm for margin in margins]

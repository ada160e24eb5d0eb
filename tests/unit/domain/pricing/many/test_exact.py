"""Whole numbers at once against Python's own, which have no end."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.pricing.amounts import rounded_units, share_units
from service.domain.pricing.many.by_part import changes_by_part
from service.domain.pricing.many.chunk import Chunk
from service.domain.pricing.many.exact import MOST, ratio, times, topped_up
from service.domain.pricing.settings import Half

WHOLE = st.integers(0, MOST - 1) | st.integers(0, 2**32) | st.integers(2**30, 2**32)


def ints(numbers):
    return np.array(numbers, dtype=np.int64)


@given(st.lists(st.tuples(WHOLE, WHOLE), min_size=1, max_size=6))
def test_a_product_is_exact_or_flagged(pairs):
    firsts, seconds = map(ints, zip(*pairs, strict=True))
    flags = np.zeros(len(pairs), np.bool_)
    products = times(firsts, seconds, flags)
    for (first, second), product, flag in zip(pairs, products.tolist(), flags, strict=True):
        assert product == (0 if flag else first * second)
        assert flag or first * second < MOST
        assert not flag or first * second >= 2**61 - 2**12


@given(st.lists(WHOLE, min_size=1, max_size=6), st.integers(1, MOST - 1) | st.integers(1, 6))
@pytest.mark.parametrize("half", list(Half))
def test_ratios(half, amounts, one):
    expected = [rounded_units(amount, one, half) for amount in amounts]
    assert ratio(ints(amounts), one, half).tolist() == expected
    assert ratio(ints(amounts), ints([one] * len(amounts)), half).tolist() == expected


@given(
    st.lists(
        st.tuples(st.lists(st.integers(0, 9), max_size=5), st.integers(0, 20)),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from([1, 2**40, 2**55]),
)
def test_shares(quotes, scale):
    """With remainders that fit one number beside quote and place, and with some that do not."""
    offsets = ints(np.cumsum([0, *(len(weights) for weights, _ in quotes)]))
    floors, rests, left, expected = [], [], [], []
    for weights, units in quotes:
        units = units if sum(weights) else 0
        one = sum(weights) or 1
        pairs = [divmod(units * weight, one) for weight in weights]
        floors += [floor for floor, _ in pairs]
        rests += [rest * scale for _, rest in pairs]
        left.append(units - sum(floor for floor, _ in pairs))
        expected += share_units(units, weights)
    found = topped_up(ints(floors), ints(rests), ints(left), offsets)
    assert found.tolist() == expected


def test_rounding_is_to_the_nearest():
    """Once against fractions, that the oracle above is one."""
    for amount in range(40):
        for one in (1, 2, 3, 7, 10):
            (found,) = ratio(ints([amount]), one, Half.UP).tolist()
            assert -Fraction(1, 2) < found - Fraction(amount, one) <= Fraction(1, 2)


@given(st.data())
@pytest.mark.parametrize("most", [1000, 2**61])
def test_changes_by_part(most, data):
    lines = data.draw(
        st.lists(st.tuples(st.integers(0, 3), st.integers(0, most), st.integers(0, most)))
    )
    cut = data.draw(st.integers(0, len(lines)))
    counted = data.draw(st.tuples(st.booleans(), st.booleans()))
    parts, before, after = (ints([line[n] for line in lines]) for n in range(3))
    chunk = Chunk(ints([0, cut, len(lines)]), parts, parts, before)
    expected: dict[int, int] = {}
    for number, (part, old, new) in enumerate(lines):
        if counted[number >= cut]:
            expected[part] = expected.get(part, 0) + new - old
    found = changes_by_part(chunk, after, np.array(counted), 4)
    assert found == {part: change for part, change in expected.items() if change}

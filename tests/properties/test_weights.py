"""Weights reckoned in whole numbers, held against the same in fractions."""

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from hypothesis import given
from hypothesis import strategies as st

from service.api.presenters.values import weight_or_none
from service.domain.takeoff.parts import Item, Packing, Weight
from service.usecases.orders import Units

# Source: the international pound, 0.45359237 kg exactly (NIST Handbook 44, Appendix C).
POUND = Fraction("0.45359237")
WEIGHTS = st.fractions(0, 10_000, max_denominator=10**7)
ORDERED = st.decimals(0, 5_000, places=3)


@given(WEIGHTS)
def test_a_weight_prints_as_its_fraction_rounds(weight):
    assert Decimal(weight_or_none(weight, Units.METRIC)["kg"]) == Decimal(
        round(weight * 10**12)
    ).scaleb(-12)
    for units, one, unit in ((Units.IMPERIAL, POUND, "lb"), (Units.METRIC, 1, "kg")):
        tenths = floor(weight / one * 10 + Fraction(1, 2))
        text = f"{tenths // 10}.{tenths % 10} {unit}"
        assert weight_or_none(weight, units)["text"] == text


@given(ORDERED, WEIGHTS, st.booleans(), st.none() | st.integers(1, 10**10), st.integers(1, 500))
def test_an_order_weighs_and_packs_as_its_fractions_do(ordered, kg, per_metre, length_nm, holds):
    packing = Packing(Weight(kg, per_metre), holds=holds)
    item = Item("A", "", "rail", ordered, ordered, "C62", 1, (), length_nm, packing=packing)
    metres = Fraction(length_nm, 10**9) if per_metre and length_nm is not None else 1
    assert item.weight_kg == Fraction(ordered) * kg * metres
    assert item.packages == ceil(Fraction(ordered) / holds)

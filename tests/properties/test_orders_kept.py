"""What is kept of an order comes back to the digit: rules, and lines as whole numbers."""

import hashlib
from dataclasses import fields
from decimal import Decimal

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.adapters.storage.parts import part_id, parts_in, read_lines, write_lines
from service.adapters.storage.rules import digest_of, read_rules, write_rules
from service.domain.money import minor_unit
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.settings import PricingSettings

DECIMALS = st.decimals(allow_nan=False, allow_infinity=False, places=None).map(abs)
st.register_type_strategy(Decimal, DECIMALS)
TEXTS = st.text(st.characters(codec="utf-8"), max_size=6)
PARTS = st.builds(
    Part,
    kind=st.sampled_from(["goods", "labour", "charge"]),
    sku=TEXTS,
    name=TEXTS,
    category=TEXTS,
    unit_of_measure=st.sampled_from(["C62", "HUR", "FOT"]),
    pack_size=st.none() | st.integers(1, 1000),
    tax_class=TEXTS,
)
WHOLE = st.integers(0, 10**15)


def told(settings):
    """Tell rules by every member, decimals by their digits: 1.0 and 1.00 print differently."""
    return repr(settings)


@given(st.from_type(PricingSettings))
def test_rules_come_back_to_the_digit(settings):
    text = write_rules(settings)
    again = read_rules(text)
    assert again == settings
    assert write_rules(again) == text
    for one in fields(PricingSettings):
        before, after = getattr(settings, one.name), getattr(again, one.name)
        if not isinstance(before, frozenset) and one.name != "taxes":  # sets have no order
            assert told(after) == told(before)


@given(st.from_type(PricingSettings), st.from_type(PricingSettings))
def test_other_rules_have_another_digest(one, other):
    same = one == other
    assert same or digest_of(write_rules(one)) != digest_of(write_rules(other))


def test_rules_that_a_later_version_wrote_are_refused_where_they_say_more():
    text = write_rules(PricingSettings(Decimal(66), ()))
    more = orjson.dumps({**orjson.loads(text), "deposit": "0.1"}).decode()
    with pytest.raises(ValueError, match="does not know: deposit"):
        read_rules(more)


def test_rules_that_an_older_version_wrote_take_defaults_for_what_they_leave_out():
    assert read_rules('{"labour_rate":null,"taxes":[]}') == PricingSettings(None, ())


@given(st.lists(st.tuples(PARTS, WHOLE, WHOLE), max_size=8), st.sampled_from(["USD", "JPY", "KWD"]))
def test_lines_come_back_exact(drawn, currency):
    step = minor_unit(currency)
    lines = tuple(
        MaterialLine(part, Decimal(quantity) / 10**6, amount * step)
        for part, quantity, amount in drawn
    )
    text = write_lines(lines, currency)
    parts = {part_id(part): part for part, _, _ in drawn}
    assert read_lines(text, parts, currency) == lines
    assert parts_in(text) == list(parts)


@pytest.mark.parametrize(
    ("quantity", "amount"),
    [
        pytest.param("0.0000005", "1.00", id="finer than a millionth"),
        pytest.param("1", "0.005", id="finer than a cent"),
        pytest.param("1e13", "1.00", id="more than 64 bits hold"),
        pytest.param("1", "1e17", id="more cents than 64 bits hold"),
    ],
)
def test_lines_that_do_not_fit_exactly_are_not_written(quantity, amount):
    part = Part("goods", "A", "", "", "C62", 1, "")
    fine = MaterialLine(part, Decimal(1), Decimal("1.00"))
    odd = MaterialLine(part, Decimal(quantity), Decimal(amount))
    assert write_lines([fine], "USD")
    assert write_lines([fine, odd], "USD") == ""


def test_the_number_of_a_part_is_the_first_48_bits_of_its_digest():
    part = Part("goods", "A-1", "", "rail", "C62", None, "")
    shown = b'["goods","A-1","","rail","C62",null,""]'
    assert part_id(part) == int(hashlib.sha256(shown).hexdigest()[:12], 16)


@given(PARTS, PARTS)
def test_other_parts_have_other_numbers(one, other):
    assert (one == other) == (part_id(one) == part_id(other))

from decimal import Decimal

import pytest
from iso4217 import Currency

from service.domain.errors import CurrencyMismatch
from service.domain.money import CURRENCIES, Money, minor_unit, zero


def money(amount, currency="USD"):
    return Money(Decimal(amount), currency)


def test_minor_units_are_those_of_iso_4217():
    # The package iso4217 carries the table the ISO 4217 maintenance agency publishes; precious
    # metals, test codes and the like have no minor unit there.
    published = {c.code: c.exponent for c in Currency if c.exponent is not None}
    assert len(published) > 150
    assert {code: -minor_unit(code).as_tuple().exponent for code in published} == published
    assert set(published) == CURRENCIES


@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        pytest.param("1.005", "USD", "1.01", id="half goes up"),
        pytest.param("1.015", "USD", "1.02", id="half goes up from an odd cent"),
        pytest.param("1.0049999999", "USD", "1.00", id="just under half goes down"),
        pytest.param("-1.005", "USD", "-1.01", id="a credit rounds as its charge"),
        pytest.param("0.5", "JPY", "1", id="no minor unit"),
        pytest.param("0.0005", "KWD", "0.001", id="three decimals"),
        pytest.param("2", "USD", "2.00", id="printed in full"),
    ],
)
def test_rounding(amount, currency, rounded):
    assert str(money(amount, currency).rounded().amount) == rounded


def test_amounts_add_and_multiply_exactly():
    assert money("0.10") + money("0.20") == money("0.30")
    assert money("0.1299") * 50 == money("6.495")
    assert zero("USD") + money("1.25") == money("1.25")


def test_two_currencies_do_not_add():
    dollars, euros = money(1), money(1, "EUR")
    with pytest.raises(CurrencyMismatch, match="EUR cannot be added to USD"):
        dollars + euros


def test_a_float_is_no_amount():
    with pytest.raises(TypeError, match="not float"):
        Money(0.1, "USD")

"""Money and rates as people read them, from the exact text of an answer."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

# Signs of currencies that mean one currency only, as CLDR prints them in English (from memory);
# all others are printed by their ISO 4217 code.
_SIGNS = {
    "AUD": "A$", "BRL": "R$", "CAD": "CA$", "EUR": "€", "GBP": "£", "ILS": "₪", "INR": "₹",
    "JPY": "¥", "KRW": "₩", "MXN": "MX$", "NZD": "NZ$", "PHP": "₱", "TRY": "₺", "UAH": "₴",
    "USD": "$", "VND": "₫",
}  # fmt: skip


def figure(amount: str) -> str:
    """Group the thousands of an amount, its decimals as they are.

    Example:
        >>> figure("12345.60"), figure("-980")
        ('12,345.60', '−980')
    """
    whole, point, part = amount.lstrip("-").partition(".")
    if not (whole + part).isdecimal():
        return amount
    return f"{'−' if amount.startswith('-') else ''}{int(whole):,}{point}{part}"


def zero(money: Mapping[str, Any]) -> bool:
    """Tell whether an amount is nothing."""
    return Decimal(money["amount"]) == 0


def money_text(money: Mapping[str, Any]) -> str:
    """Write an amount with the sign or the code of its currency.

    Example:
        >>> money_text({"amount": "1200.50", "currency": "EUR"})
        '€1,200.50'
    """
    sign = _SIGNS.get(money["currency"], money["currency"] + "\u00a0")
    text = figure(money["amount"])
    return f"−{sign}{text[1:]}" if text.startswith("−") else sign + text


def percent(rate: str) -> str:
    """Write a rate as a percentage.

    Example:
        >>> percent("0.0625"), percent("0.2")
        ('6.25 %', '20 %')
    """
    text = f"{Decimal(rate) * 100:f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} %"

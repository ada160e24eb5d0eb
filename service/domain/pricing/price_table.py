"""Prices in force and the settings that turn a take-off into money."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class PriceRow:
    """Price of one unit of a part; the unit is a UN/ECE Recommendation 20 code."""

    sku: str
    unit_price: Decimal
    unit_of_measure: str


@dataclass(frozen=True, slots=True)
class PriceTable:
    """All prices of one table, by SKU, in one currency (ISO 4217)."""

    name: str
    currency: str
    rows: Mapping[str, PriceRow]


@dataclass(frozen=True, slots=True)
class Tax:
    """One tax component: a fraction of the net of the lines it applies to.

    Attributes:
        rate: Fraction, such as Decimal("0.0725").
        applies_to: Subset of {"goods", "labour"}.
    """

    name: str
    rate: Decimal
    applies_to: frozenset[str]


@dataclass(frozen=True, slots=True)
class PricingSettings:
    """Labour rate per hour (None leaves labour out of the quote) and taxes."""

    labour_rate: Decimal | None
    taxes: tuple[Tax, ...]

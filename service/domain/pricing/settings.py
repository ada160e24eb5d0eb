"""What turns a take-off into money beside the price table: a dealer's rules, as records.

Rates are fractions of one. Of several rules that fit, the most specific is taken: one that names
the SKU goes before one that names the category, and that before one that names neither.
"""

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Protocol, TypeVar

from service.domain.record import record

GOODS = "goods"
LABOUR = "labour"
CHARGE = "charge"


class PriceFrom(StrEnum):
    """Which price of a row goes first."""

    LIST = "list"
    COST = "cost"


class Half(StrEnum):
    """Where an amount goes that lies half way between two."""

    UP = "up"
    EVEN = "even"


class TaxPer(StrEnum):
    """What a tax component is rounded on."""

    LINE = "line"
    DOCUMENT = "document"


class Fitting(Protocol):
    """A rule that may name a SKU or a category; "" names none."""

    @property
    def sku(self) -> str:
        """The only part it holds for."""
        ...

    @property
    def category(self) -> str:
        """The only category it holds for."""
        ...


Rule = TypeVar("Rule", bound=Fitting)


def most_specific(rules: Iterable[Rule], sku: str, category: str) -> Rule | None:
    """Give the rule that holds for a part, None where none does."""
    fitting = [r for r in rules if r.sku in ("", sku) and r.category in ("", category)]
    return max(fitting, key=lambda rule: (bool(rule.sku), bool(rule.category)), default=None)


@record(frozen=True, slots=True)
class MarkupRule:
    """How a cost becomes a price: a markup is a part of the cost, a margin one of the price.

    Attributes:
        rate: Of the cost for a markup; of the price, and below one, for a margin.
        of_price: Whether the rate is a margin.
    """

    rate: Decimal
    of_price: bool
    sku: str = ""
    category: str = ""


@record(frozen=True, slots=True)
class Discount:
    """Money off: a rate of an amount, or an amount; the other one is None.

    Attributes:
        name: As printed.
    """

    name: str
    rate: Decimal | None = None
    amount: Decimal | None = None


@record(frozen=True, slots=True)
class DiscountRule:
    """A discount on each line that it fits; an amount takes no line below zero."""

    discount: Discount
    sku: str = ""
    category: str = ""


@record(frozen=True, slots=True)
class LabourRate:
    """What an hour of the tasks of a category is sold for, and what it costs.

    Attributes:
        category: "" for the tasks no other rate fits.
        cost: None where it is not said.
    """

    category: str
    rate: Decimal
    cost: Decimal | None = None


@record(frozen=True, slots=True)
class FreightBand:
    """What carriage to a zone costs up to a weight; None is any weight. [kg]"""

    zone: str
    up_to_kg: Fraction | None
    amount: Decimal


@record(frozen=True, slots=True)
class Freight:
    """Carriage to a zone, by the weight of the order."""

    name: str
    zone: str
    bands: tuple[FreightBand, ...]
    tax_class: str = CHARGE


@record(frozen=True, slots=True)
class MinimumCharge:
    """The least that goods and labour come to; a charge lifts them to it."""

    name: str
    amount: Decimal
    tax_class: str = CHARGE


@record(frozen=True, slots=True)
class PaymentTerm:
    """A part of the gross that is due at a moment; with neither rate nor amount, the rest."""

    due: str
    rate: Decimal | None = None
    amount: Decimal | None = None


@record(frozen=True, slots=True)
class Tax:
    """One tax component: a fraction of the net of the lines it applies to.

    Attributes:
        rate: Fraction, such as Decimal("0.0725").
        applies_to: Tax classes; "goods", "labour" and "charge" are those of the kinds of line.
        compound: Whether the components before it are taxed as well.
    """

    name: str
    rate: Decimal
    applies_to: frozenset[str]
    compound: bool = False


@record(frozen=True, slots=True)
class PricingSettings:
    """A dealer's rules.

    Attributes:
        labour_rate: For an hour of any task; with no ``labour_rates`` either, None leaves labour
            out of the quote.
        taxes: Components in the order they are printed; none leaves tax out of the quote.
        markups: How a cost becomes a price.
        price_from: Whether a list price or a made one goes first, where a row has both.
        unit_price_step: Made prices are rounded to it; None for the currency's minor unit.
        untaxed: Tax classes that no component applies to.
        tax_included: Whether every price and amount here and in the table holds the taxes.
        tax_per: What a tax component is rounded on.
        half: How every amount of the quote is rounded.
    """

    labour_rate: Decimal | None
    taxes: tuple[Tax, ...]
    markups: tuple[MarkupRule, ...] = ()
    price_from: PriceFrom = PriceFrom.LIST
    unit_price_step: Decimal | None = None
    labour_rates: tuple[LabourRate, ...] = ()
    discounts: tuple[DiscountRule, ...] = ()
    quote_discount: Discount | None = None
    freight: Freight | None = None
    minimum: MinimumCharge | None = None
    payments: tuple[PaymentTerm, ...] = ()
    untaxed: frozenset[str] = frozenset()
    tax_included: bool = False
    tax_per: TaxPer = TaxPer.LINE
    half: Half = Half.UP

    def hour(self, category: str) -> LabourRate | None:
        """Give what an hour of a category of tasks comes to, None where labour is left out."""
        for rate in self.labour_rates:
            if rate.category == category:
                return rate
        default = next((rate for rate in self.labour_rates if not rate.category), None)
        if default is None and self.labour_rate is not None:
            return LabourRate("", self.labour_rate)
        return default

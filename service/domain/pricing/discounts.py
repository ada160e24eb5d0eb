"""Discounts: on single lines first, then on what goods and labour come to together.

A rate is taken of the rounded amount and rounded once. The discount of the quote is rounded once
and shared out over the lines by largest remainder, in proportion to what is left of each, so that
every line's net, and with it its tax, is that of the money asked for it.
"""

from collections.abc import Sequence
from decimal import Decimal

from service.domain.errors import InvalidPricing
from service.domain.money import Money, minor_unit
from service.domain.pricing.amounts import EXACT, rounded, share_out
from service.domain.pricing.drafts import Draft
from service.domain.pricing.lines import LineDiscount
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    PricingSettings,
    most_specific,
)


def discounts_on(
    drafts: Sequence[Draft], amounts: Sequence[Decimal], settings: PricingSettings, currency: str
) -> list[tuple[LineDiscount, ...]]:
    """Take the discounts off each line: its own, then its share of the quote's.

    Args:
        drafts: Goods and labour.
        amounts: Of each line, rounded.
        settings: The discounts, and how they are rounded.
        currency: Of the amounts.

    Raises:
        InvalidPricing: The quote's discount is more than what it is taken from.
    """
    step = minor_unit(currency)
    taken: list[tuple[LineDiscount, ...]] = []
    left = []
    for draft, amount in zip(drafts, amounts, strict=True):
        rule, off = off_line(draft, amount, step, settings)
        taken.append((LineDiscount(rule.discount.name, Money(off, currency)),) if rule else ())
        left.append(amount - off)
    whole = settings.quote_discount
    if whole is None:
        return taken
    off = _of_quote(whole, sum(left, Decimal(0)), step, settings)
    shares = (LineDiscount(whole.name, Money(s, currency)) for s in share_out(off, left, step))
    return [(*own, share) for own, share in zip(taken, shares, strict=True)]


def off_line(
    draft: Draft, amount: Decimal, step: Decimal, settings: PricingSettings
) -> tuple[DiscountRule | None, Decimal]:
    """Give the rule that a line is discounted by, and what it takes off its rounded amount."""
    rule = most_specific(settings.discounts, draft.sku, draft.category)
    if rule is None:
        return None, Decimal(0)
    return rule, min(discount_of(rule.discount, amount, step, settings), amount)


def discount_of(
    discount: Discount, amount: Decimal, step: Decimal, settings: PricingSettings
) -> Decimal:
    """Take a discount of a rounded amount, and round it."""
    exact = discount.amount
    if discount.rate is not None:
        exact = EXACT.multiply(amount, discount.rate)
    return rounded(exact or Decimal(0), step, settings.half)


def _of_quote(
    discount: Discount, amount: Decimal, step: Decimal, settings: PricingSettings
) -> Decimal:
    off = discount_of(discount, amount, step, settings)
    if off > amount:
        raise InvalidPricing(
            f"The discount {discount.name} of {off} is more than the {amount} that goods and "
            "labour come to.",
            where=("pricing", "quote_discount", "amount"),
            advice="Take less off.",
        )
    return off

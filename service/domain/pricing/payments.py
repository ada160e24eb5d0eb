"""The schedule by which the gross is paid, adding up to it exactly."""

from collections.abc import Sequence
from decimal import Decimal

from service.domain.errors import InvalidPricing
from service.domain.money import Money, minor_unit
from service.domain.pricing.amounts import EXACT, rounded, share_out
from service.domain.pricing.lines import Payment
from service.domain.pricing.settings import PaymentTerm, PricingSettings


def schedule(gross: Money, settings: PricingSettings) -> tuple[Payment, ...]:
    """Divide the gross among its moments.

    Where one part is the rest, the others are taken as given, rates rounded once, and it is what
    they leave. Otherwise every part is a rate, and the gross is shared out by largest remainder.

    Raises:
        InvalidPricing: The parts given are more than the gross, or rates without a rest are not
            the whole of it.

    Example:
        >>> halves = (PaymentTerm("on order", Decimal("0.5")), PaymentTerm("on completion"))
        >>> terms = PricingSettings(None, (), payments=halves)
        >>> [str(p.amount.amount) for p in schedule(Money(Decimal("10.01"), "USD"), terms)]
        ['5.01', '5.00']
    """
    terms = settings.payments
    if not terms:
        return ()
    step = minor_unit(gross.currency)
    if all(term.rate is not None for term in terms):
        amounts = _shares(gross.amount, terms, step)
    else:
        amounts = _with_rest(gross.amount, settings, step)
    return tuple(
        Payment(term.due, Money(amount, gross.currency))
        for term, amount in zip(terms, amounts, strict=True)
    )


def _shares(gross: Decimal, terms: Sequence[PaymentTerm], step: Decimal) -> list[Decimal]:
    rates = [term.rate or Decimal(0) for term in terms]
    if sum(rates, Decimal(0)) != 1:
        raise InvalidPricing(
            f"The rates of the payments add up to {sum(rates, Decimal(0))}, not to 1.",
            where=("pricing", "payments"),
            advice="Let the last payment be the rest: leave out its rate and amount.",
        )
    return share_out(gross, rates, step)


def _with_rest(gross: Decimal, settings: PricingSettings, step: Decimal) -> list[Decimal]:
    given = [_given(term, gross, step, settings) for term in settings.payments]
    rest = gross - sum((amount or Decimal(0) for amount in given), Decimal(0))
    if rest < 0:
        raise InvalidPricing(
            f"The payments before the rest come to {gross - rest}, more than the gross of {gross}.",
            where=("pricing", "payments"),
            advice="Ask for less before the rest, or for rates of the gross.",
        )
    if None not in given and rest:
        raise InvalidPricing(
            f"The payments leave {rest} of the gross unpaid.",
            where=("pricing", "payments"),
            advice="Let the last payment be the rest: leave out its rate and amount.",
        )
    return [rest if amount is None else amount for amount in given]


def _given(
    term: PaymentTerm, gross: Decimal, step: Decimal, settings: PricingSettings
) -> Decimal | None:
    if term.rate is not None:
        return rounded(EXACT.multiply(gross, term.rate), step, settings.half)
    return None if term.amount is None else rounded(term.amount, step, settings.half)

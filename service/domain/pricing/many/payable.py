"""Which quotes the schedule of payments does not fit, as ``schedule`` finds it."""

from decimal import Decimal

import numpy as np

from service.domain.money import minor_unit
from service.domain.pricing.amounts import EXACT, rounded
from service.domain.pricing.many.exact import MOST, Flags, Ints, ratio, times
from service.domain.pricing.many.resolved import scaled
from service.domain.pricing.settings import PricingSettings


def unpayable(gross: Ints, settings: PricingSettings, currency: str) -> Flags:
    """Tell which gross amounts cannot be paid as the rules say, or may not be.

    Args:
        gross: Of each quote, in minor units.
        settings: With the schedule.
        currency: Of the amounts.

    Example:
        >>> from service.domain.pricing.settings import PaymentTerm
        >>> terms = (PaymentTerm("on order", amount=Decimal(5)), PaymentTerm("on completion"))
        >>> rules = PricingSettings(None, (), payments=terms)
        >>> unpayable(np.array([499, 500]), rules, "USD").tolist()
        [True, False]
    """
    odd = np.zeros(len(gross), np.bool_)
    rates = [term.rate for term in settings.payments if term.rate is not None]
    if len(rates) == len(settings.payments):
        odd[:] = bool(rates) and sum(rates, Decimal(0)) != 1
        return odd
    fixed = [t.amount for t in settings.payments if t.rate is None and t.amount is not None]
    step = minor_unit(currency)
    given = sum((rounded(amount, step, settings.half) for amount in fixed), Decimal(0))
    units = int(EXACT.divide(given, step))
    if units >= MOST // 2 or len(rates) > 100 or any(not 0 <= rate <= 1 for rate in rates):
        odd[:] = True
        return odd
    rest = gross - units
    for rate in rates:
        figure = scaled([rate])
        odd |= figure.misfit[0]
        exact = times(gross, int(figure.numbers[0]), odd)
        rest = rest - ratio(exact, 10**figure.places, settings.half)
    open_ended = len(rates) + len(fixed) < len(settings.payments)
    unpaid: Flags = (rest < 0) | ((rest != 0) & (not open_ended))
    return odd | unpaid

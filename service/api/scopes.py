"""What a caller who was let in may do beside what the address itself asks for."""

from collections.abc import Collection

from flask import g

from service.api.references import PRICE_TABLE
from service.domain.errors import Forbidden
from service.domain.pricing.settings import PricingSettings
from service.usecases.callers import Caller, Scope
from service.usecases.catalogue import Kind

_ASK = "Ask whoever manages the keys for one that has it."


def may(scope: Scope) -> bool:
    """Tell whether the caller has a scope."""
    caller: Caller = g.caller
    return scope in caller.scopes


def demand(scope: Scope, *, advice: str = _ASK) -> None:
    """Refuse a caller who does not have a scope.

    Raises:
        Forbidden: The key does not have it.
    """
    caller: Caller = g.caller
    if scope not in caller.scopes:
        raise Forbidden(
            f"The {caller.who} does not have the scope {scope.value}.",
            scope=scope.value,
            advice=advice,
        )


def guard_costs(pricing: PricingSettings, stored: Collection[str]) -> None:
    """Refuse one who may not see costs, where his own rules would make prices of kept ones.

    Whoever sends a markup knows the cost from the price. Rules that are kept are their dealer's.

    Args:
        pricing: Rules of the order.
        stored: Kinds of what the order names in place of sending it.

    Raises:
        Forbidden: He may not.
    """
    if pricing.markups and PRICE_TABLE in stored and Kind.PRICING.value not in stored:
        demand(
            Scope.COSTS_READ,
            advice="Markups that are sent would tell the costs of a kept price table: name "
            "pricing rules that are kept, or send none.",
        )

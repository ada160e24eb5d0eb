"""How often a key may ask: a fixed number in each minute, told with every answer.

Source: draft-ietf-httpapi-ratelimit-headers-10 (RateLimit-Policy and RateLimit), RFC 6585 section 4
(429), RFC 9110 section 10.2.3 (Retry-After).
"""

from flask import Flask, Response, g

from service.api.context import context
from service.domain.errors import TooManyRequests
from service.usecases.callers import Caller
from service.usecases.rates import WINDOW, Allowance


def spend_one() -> None:
    """Count the request of the caller who was let in.

    Raises:
        TooManyRequests: It is one too many in this minute.
    """
    here = context()
    if here.rates is None:
        return
    caller: Caller = g.caller
    bound = here.settings.rate_per_minute
    most = min(bound, caller.per_minute) if caller.per_minute else bound
    allowed, allowance = here.rates.spend(f"{caller.dealer} {caller.who}", most)
    g.allowance = allowance
    if not allowed:
        raise TooManyRequests(
            f"The {caller.who} may ask {most} times in a minute.",
            seconds=allowance.seconds,
            advice=f"Ask again in {allowance.seconds} s.",
        )


def spend_apart(what: str, most: int) -> None:
    """Count a request of a kind that has a bound of its own, for all callers of a dealer.

    Raises:
        TooManyRequests: It is one too many in this minute.
    """
    rates, caller = context().rates, g.caller
    if rates is None:
        return
    allowed, allowance = rates.spend(f"{caller.dealer} {what}", most)
    if not allowed:
        raise TooManyRequests(
            f"There were {most} {what} in this minute.",
            seconds=allowance.seconds,
            advice=f"Send it again in {allowance.seconds} s.",
        )


def register(app: Flask) -> None:
    """Tell what is left with every answer to a caller who is counted."""
    app.after_request(_tell)


def _tell(response: Response) -> Response:
    allowance: Allowance | None = g.get("allowance")
    if allowance is not None:
        response.headers["RateLimit-Policy"] = f'"minute";q={allowance.most};w={WINDOW}'
        response.headers["RateLimit"] = f'"minute";r={allowance.left};t={allowance.seconds}'
    return response

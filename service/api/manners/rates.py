"""How often a key may ask: a fixed number in each minute, told with every answer.

Source: draft-ietf-httpapi-ratelimit-headers-10 (RateLimit-Policy and RateLimit), RFC 6585 section 4
(429), RFC 9110 section 10.2.3 (Retry-After).
"""

from flask import Flask, Response, g

from service.api.context import context
from service.domain.errors import TooManyRequests
from service.usecases.callers import Caller
from service.usecases.rates import WINDOW, Allowance, Rates


def spend_one() -> None:
    """Count the request of the caller who was let in.

    Raises:
        TooManyRequests: It is one too many in this minute.
    """
    rates = context().rates
    if rates is None:
        return
    allowed, allowance = _spend(rates)
    g.allowance = allowance
    if not allowed:
        raise TooManyRequests(
            f"The {g.caller.who} may ask {allowance.most} times in a minute.",
            seconds=allowance.seconds,
            advice=f"Ask again in {allowance.seconds} s.",
        )


def spend_in_turn() -> None:
    """Count one line of a stream; rather than refuse it, wait until the minute is over.

    A quarter of each minute's requests is left to others who ask with the same key.
    """
    rates = context().rates
    if rates is None:
        return
    allowed, allowance = _spend(rates)
    while not allowed:
        context().pause(allowance.seconds)
        allowed, allowance = _spend(rates)
    if allowance.left < allowance.most // 4:
        context().pause(allowance.seconds)


def _spend(rates: Rates) -> tuple[bool, Allowance]:
    caller: Caller = g.caller
    bound = context().settings.rate_per_minute
    most = min(bound, caller.per_minute) if caller.per_minute else bound
    return rates.spend(f"{caller.dealer} {caller.who}", most)


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

"""Pages of listed origins may call the service; it knows no cookies, so nothing else is shared.

Source: Fetch Standard, section 3.2 (CORS protocol).
"""

from collections.abc import Callable

from flask import Flask, Response, current_app, request

OriginCheck = Callable[[str], bool]

# What a page may send beyond what it always may, and what it may read of an answer.
SENT = (
    "Accept, Authorization, Content-Type, Idempotency-Key, If-Match, If-None-Match, Prefer, "
    "X-Request-Id"
)
READ = (
    "Content-Disposition, Deprecation, ETag, Link, Location, Preference-Applied, RateLimit, "
    "RateLimit-Policy, Retry-After, Server-Timing, Sunset, X-Request-Id"
)
REMEMBERED_SECONDS = 7200


def listed(origins: tuple[str, ...]) -> OriginCheck:
    """Give a check against a list; an asterisk lets every origin in."""
    return lambda origin: "*" in origins or origin in origins


def register(app: Flask, allowed: OriginCheck) -> None:
    """Let pages of allowed origins call; register it before whatever asks who calls.

    A browser asks beforehand without credentials, so that question is answered to everyone.
    """

    def share(response: Response) -> Response:
        response.vary.add("Origin")
        origin = request.headers.get("Origin", "")
        if origin and allowed(origin):
            response.headers.update(_shared(origin, response.headers.get("Allow", "")))
        return response

    app.before_request(_options)
    app.after_request(share)


def _options() -> Response | None:
    """Answer OPTIONS of an address that is kept with what it takes, and nothing else."""
    if request.method != "OPTIONS" or request.routing_exception is not None:
        return None
    answer = current_app.make_default_options_response()
    answer.status_code = 204
    del answer.headers["Content-Type"]
    return answer


def _shared(origin: str, methods: str) -> dict[str, str]:
    origin_of = {"Access-Control-Allow-Origin": origin}
    if request.method == "OPTIONS" and "Access-Control-Request-Method" in request.headers:
        return origin_of | {
            "Access-Control-Allow-Methods": methods,
            "Access-Control-Allow-Headers": SENT,
            "Access-Control-Max-Age": str(REMEMBERED_SECONDS),
        }
    return origin_of | {"Access-Control-Expose-Headers": READ}

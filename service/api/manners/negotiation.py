"""What a caller accepts is looked at before anything is done, and the answer says that it was.

Source: RFC 9110, sections 12.4.2 (weights), 12.5.1 (Accept), 12.5.5 (Vary) and 15.5.7 (406).
"""

from collections.abc import Sequence

from flask import Flask, Response, request
from werkzeug.datastructures import MIMEAccept
from werkzeug.exceptions import NotAcceptable

from service.api.answers.words import Described
from service.api.manners.traits import traits_asked

# Of an answer, for the document.
VARY: Described = {"Vary": {"description": "Names Accept.", "schema": {"type": "string"}}}
# RFC 8259, section 8.1, and RFC 4180, section 3: so all JSON and CSV is written here.
_SENT = frozenset({"charset=utf-8", "header=present"})


def register(app: Flask) -> None:
    """Refuse what no answer could please."""
    app.before_request(_negotiate)
    app.after_request(_tell)


def _negotiate() -> None:
    offers = traits_asked().offers
    if not offers or request.method == "OPTIONS":
        return
    if best_offer(request.accept_mimetypes, offers) is None:
        types = " or ".join(offers)
        raise NotAcceptable(f"The answer here is {types}, which the Accept header leaves out.")


def _tell(response: Response) -> Response:
    """Say that another wish would have had another answer, be it a refusal."""
    if traits_asked().offers and request.method != "OPTIONS":
        response.vary.add("Accept")
    return response


def best_offer(accept: MIMEAccept, offers: Sequence[str]) -> str | None:
    """Give the offer a caller likes best, None if it likes none; of equals the first.

    The most specific range that fits an offer decides about it.

    Example:
        >>> best_offer(MIMEAccept([("text/*", 0.4), ("*/*", 0.2)]), ["image/png", "text/csv"])
        'text/csv'
    """
    if not accept:
        return offers[0]
    best = max(offers, key=lambda offer: _weight(accept, offer))
    return best if _weight(accept, best) > 0 else None


def _weight(accept: MIMEAccept, offer: str) -> float:
    """Weigh an offer; many callers name parameters that every answer of the kind has here."""
    named = next((value for value, _ in accept if _as_sent(value, offer)), offer)
    return float(accept.quality(named))


def _as_sent(value: str, offer: str) -> bool:
    media_type, *parameters = (part.strip().lower() for part in value.split(";"))
    return bool(parameters) and media_type == offer and _SENT.issuperset(parameters)

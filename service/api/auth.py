"""Who calls, and whether they may: read once for a request, before anything of it is done.

Source: RFC 6750 (bearer tokens), RFC 9110 section 11.6.1 (WWW-Authenticate).
"""

from flask import g, request

from service.api.context import Stores, context
from service.api.scopes import demand
from service.domain.errors import Forbidden, Unauthenticated
from service.usecases.callers import Caller, Scope

_ADVICE = "Send the header Authorization: Bearer <key>; evenbay keys create makes a key."


def admit(needs: Scope) -> None:
    """Let the caller of this request in.

    Raises:
        Unauthenticated: No key was sent, or it belongs to nobody.
        Forbidden: The key does not have the scope, or was sent from a strange web page.
    """
    caller = context().gate.caller(_credential(), context().now())
    _refuse_strange_page(caller)
    g.caller = caller
    demand(needs)
    g.stores = context().open_stores(caller)


def stores() -> Stores:
    """Give the stores of the dealer whose key was shown."""
    opened: Stores = g.stores
    return opened


def _credential() -> str:
    sent = request.headers.getlist("Authorization")
    scheme, _, credential = sent[0].partition(" ") if len(sent) == 1 else ("", "", "")
    if scheme.lower() != "bearer" or not credential.strip():
        raise Unauthenticated("No key was sent.", advice=_ADVICE)
    return credential.strip()


def _refuse_strange_page(caller: Caller) -> None:
    """Keep a publishable key to the pages it was made for; browsers name the page themselves."""
    origin = request.headers.get("Origin", "")
    if caller.publishable and origin not in caller.origins:
        raise Forbidden(
            f"This key is not for pages of {origin or 'an unnamed origin'}.",
            advice="The dealer lists the origins of the pages a publishable key is used on.",
        )

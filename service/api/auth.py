"""Who calls, and whether they may: read once for a request, before anything of it is done.

Source: RFC 6750 (bearer tokens), RFC 9110 section 11.6.1 (WWW-Authenticate).
"""

from flask import g, request

from service.api.context import Stores, context
from service.api.scopes import demand
from service.domain.errors import Forbidden, Unauthenticated
from service.usecases.callers import PUBLISHABLE_LEAD, Caller, Scope

IN_ADDRESS = "key"  # name of the parameter
_ADVICE = "Send the header Authorization: Bearer <key>; evenbay keys create makes a key."
_OPEN = "The dealer makes a publishable key that has the scope sheets with POST /v1/keys."


def admit(needs: Scope, *, by_address: bool = False) -> None:
    """Let the caller of this request in.

    Args:
        needs: Scope that the operation needs.
        by_address: Whether the address may hold a publishable key.

    Raises:
        Unauthenticated: No key was sent, or it belongs to nobody.
        Forbidden: The key does not have the scope, or was sent from a strange web page.
    """
    credential = (_in_address() if by_address else "") or _credential()
    caller = context().gate.caller(credential, context().now())
    if not by_address or "Origin" in request.headers:
        _refuse_strange_page(caller)
    elif caller.publishable and not caller.by_address:
        raise Forbidden("This key may not be used from an address alone.", advice=_OPEN)
    g.caller = caller
    demand(needs)
    g.stores = context().open_stores(caller)


def stores() -> Stores:
    """Give the stores of the dealer whose key was shown."""
    opened: Stores = g.stores
    return opened


def dealer() -> str:
    """Give the id of the dealer whose key was shown."""
    caller: Caller = g.caller
    return caller.dealer


def _credential() -> str:
    sent = request.headers.getlist("Authorization")
    scheme, _, credential = sent[0].partition(" ") if len(sent) == 1 else ("", "", "")
    if scheme.lower() != "bearer" or not credential.strip():
        raise Unauthenticated("No key was sent.", shown=False, advice=_ADVICE)
    return credential.strip()


def _in_address() -> str:
    """Give the publishable key that the address holds, "" where a header shows one.

    Raises:
        Unauthenticated: It is no publishable key.
    """
    keys = [key for key in request.args.getlist(IN_ADDRESS) if key]
    if not all(key.startswith(PUBLISHABLE_LEAD) for key in keys):
        raise Unauthenticated(
            "An address holds a publishable key and no other.",
            advice="If that was a secret key, revoke it with DELETE /v1/keys/{key_id}: addresses "
            "are written down wherever they pass. POST /v1/keys makes a publishable one.",
        )
    return "" if "Authorization" in request.headers else next(iter(keys), "")


def _refuse_strange_page(caller: Caller) -> None:
    """Keep a publishable key to the pages it was made for; browsers name the page themselves."""
    origin = request.headers.get("Origin", "")
    if caller.publishable and origin not in caller.origins:
        raise Forbidden(
            f"This key is not for pages of {origin or 'an unnamed origin'}.",
            advice="The dealer lists the origins of the pages a publishable key is used on.",
        )

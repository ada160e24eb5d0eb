"""Bearer tokens (JWT) of an OpenID Connect issuer, taken besides keys.

Only asymmetric algorithms are taken, issuer, audience and end are always checked, and the token
names the dealer: one without a dealer who is known opens nothing.

Source: RFC 7519 (JWT), RFC 7517 (JWK sets), RFC 8725 (best current practices).
"""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import jwt
import orjson
from jwt import PyJWK, PyJWKClient, PyJWKSet

from service.adapters.issuer_keys import IssuerKeys
from service.adapters.storage.keys import PUBLISHABLE_PREFIX, SECRET_PREFIX
from service.domain.errors import Unauthenticated
from service.settings import OidcSettings
from service.usecases.callers import Caller, Gate, Scope

ALGORITHMS = ("RS256", "RS384", "RS512", "PS256", "PS384", "PS512", "ES256", "ES384", "EdDSA")
_LEEWAY = 30  # between the issuer's clock and ours [s]
_LONGEST = 8_000
_PATIENCE = 5  # with an issuer that is asked for its keys [s]


class TokenGate:
    """Tells callers by keys, and by tokens."""

    def __init__(
        self, keys: Gate, settings: OidcSettings, dealer_of: Callable[[str], str | None]
    ) -> None:
        self._keys = keys
        self._settings = settings
        self._dealer_of = dealer_of
        self._signing_key = _signing_keys(settings.jwks)

    def caller(self, credential: str, at: datetime) -> Caller:
        """Give the caller that a key or token belongs to."""
        if credential.startswith((SECRET_PREFIX, PUBLISHABLE_PREFIX)) or credential.count(".") != 2:
            return self._keys.caller(credential, at)
        claims = self._claims(credential)
        named = claims.get(self._settings.dealer_claim)
        dealer = self._dealer_of(named) if isinstance(named, str) else None
        if dealer is None:
            raise Unauthenticated("This token names no dealer who is known here.")
        return Caller(
            dealer=dealer,
            who=f"user {str(claims['sub'])[:60]}",
            scopes=_scopes(claims.get("scope")),
        )

    def _claims(self, token: str) -> dict[str, Any]:
        try:
            if len(token) > _LONGEST:
                raise jwt.InvalidTokenError("it is too long")
            claims: dict[str, Any] = jwt.decode(
                token,
                self._signing_key(token),
                algorithms=list(ALGORITHMS),
                issuer=self._settings.issuer,
                audience=self._settings.audience,
                leeway=_LEEWAY,
                options={"require": ["exp", "iss", "aud", "sub"]},
            )
        except (jwt.PyJWTError, ValueError) as error:
            raise Unauthenticated(f"This token is not good: {error}.") from None
        return claims


def _scopes(said: object) -> frozenset[Scope]:
    """Give the scopes of a token that this service knows."""
    words = said.split() if isinstance(said, str) else []
    known = {scope.value for scope in Scope}
    return frozenset(Scope(word) for word in words if word in known)


def _signing_keys(place: str) -> Callable[[str], PyJWK]:
    """Give what finds the key of a token, in a file or at an address that is asked now and then."""
    if place.startswith("https://"):
        client = PyJWKClient(place, cache_jwk_set=False, timeout=_PATIENCE)
        issued = IssuerKeys(client.get_signing_keys)
        return lambda token: issued.named(_key_id(token))
    held = PyJWKSet.from_dict(orjson.loads(Path(place).read_bytes()))

    def find(token: str) -> PyJWK:
        named = _key_id(token)
        for key in held.keys:
            if key.key_id == named:
                return key
        raise jwt.InvalidTokenError("no key of the issuer's has its kid")

    return find


def _key_id(token: str) -> object:
    return jwt.get_unverified_header(token).get("kid")

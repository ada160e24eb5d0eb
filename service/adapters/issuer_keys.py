"""The public keys of an issuer of tokens, asked for anew now and then, and seldom.

Own code: PyJWT spares only an issuer that answers. While one is away it is asked again for every
token, the made-up ones of strangers too, and good tokens wait behind each of those calls.

Source: RFC 7517 (JWK sets), section 4.5 (kid).
"""

import threading
import time
from collections.abc import Callable, Iterable, Mapping

import jwt
from jwt import PyJWK

from service.usecases.outages import StoreUnavailable

KEPT_FOR = 300.0  # how long keys are good without being asked for again [s]
ASKED_AFTER = 10.0  # at the soonest; a new key of the issuer's is unknown for no longer [s]
_AWAY = "The issuer of tokens does not give its keys."


class IssuerKeys:
    """Keys by their ids, for all threads of a process."""

    def __init__(
        self, fetch: Callable[[], Iterable[PyJWK]], clock: Callable[[], float] = time.monotonic
    ) -> None:
        """Ask for nothing yet.

        Args:
            fetch: Asks the issuer for its keys.
            clock: Tells a time that never goes back. [s]
        """
        self._fetch = fetch
        self._clock = clock
        self._asking = threading.Lock()
        self._held: tuple[float, Mapping[str, PyJWK]] = (-KEPT_FOR, {})  # when, and what
        self._asked_at = -ASKED_AFTER
        self._away: Exception | None = None

    def named(self, name: object) -> PyJWK:
        """Give the key of an id.

        Raises:
            InvalidTokenError: The issuer has none of this id, as far as was asked.
            StoreUnavailable: It did not answer when it was asked last.
        """
        if not isinstance(name, str):
            raise jwt.InvalidTokenError("it names no key by a kid")
        key = self._known(name)
        if key is None:
            with self._asking:
                key = self._known(name) or self._asked(name)
        return key

    def _known(self, name: str) -> PyJWK | None:
        since, keys = self._held
        return keys.get(name) if self._clock() - since < KEPT_FOR else None

    def _asked(self, name: str) -> PyJWK:
        """Give a key that is not known, for which the issuer is asked unless it just was."""
        if self._clock() - self._asked_at >= ASKED_AFTER:
            self._ask()
        if self._away is not None:
            raise StoreUnavailable(_AWAY) from self._away
        key = self._known(name)
        if key is None:
            raise jwt.InvalidTokenError("no key of the issuer's has its kid")
        return key

    def _ask(self) -> None:
        try:
            keys = {str(key.key_id): key for key in self._fetch()}
        except (jwt.PyJWTError, ValueError) as error:
            self._away = error
        else:
            self._away, self._held = None, (self._clock(), keys)
        self._asked_at = self._clock()  # also if it took long

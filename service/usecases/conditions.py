"""Conditions that a caller puts on a change: what is stored still stands as it was seen.

Source: RFC 9110, section 13.1.1 (If-Match).
"""

import hashlib
from collections.abc import Callable

from service.domain.errors import StaleState

Matches = Callable[[str], bool]  # tells whether a tag is the one the caller has seen


def tag_of_state(*parts: object) -> str:
    """Name a state by whatever of it can change; a store asks within the change itself."""
    said = "\0".join(map(str, parts)).encode()
    return hashlib.blake2b(said, digest_size=8).hexdigest()


def demand_seen(matches: Matches | None, tag: str, what: str) -> None:
    """Refuse a change of what is not as the caller has seen it.

    Raises:
        StaleState: It is not.
    """
    if matches is not None and not matches(tag):
        raise StaleState(
            f"{what} has changed since it was read.", advice="Read it again; its ETag is new."
        )

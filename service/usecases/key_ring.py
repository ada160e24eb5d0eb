"""A dealer's keys and the trail of changes, as ports."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.domain.errors import Forbidden
from service.usecases.callers import IN_ADDRESSES, Caller, KeyWish
from service.usecases.conditions import Matches, tag_of_state

Moment = tuple[datetime, str]  # (when, id): where a page begins


@dataclass(frozen=True, slots=True)
class HeldKey:
    """A key as people see it; its secret is kept nowhere."""

    id: str
    prefix: str
    wish: KeyWish
    created_at: datetime
    revoked_at: datetime | None

    @property
    def ended_at(self) -> datetime | None:
        """When it ends or ended, None without end."""
        ends = [end for end in (self.revoked_at, self.wish.expires_at) if end is not None]
        return min(ends, default=None)

    @property
    def tag(self) -> str:
        """Name what can be seen of it that changes."""
        return tag_of_state(self.wish.expires_at, self.revoked_at)


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """Who changed what."""

    id: str
    at: datetime
    who: str
    action: str
    subject: str
    detail: Mapping[str, object]


class KeyRing(Protocol):
    """Where a dealer's keys are kept, and the trail of changes."""

    def page(self, after: Moment | None, most: int) -> list[HeldKey]:
        """Give keys, newest first."""
        ...

    def key(self, key_id: str) -> HeldKey:
        """Give one key.

        Raises:
            KeyNotFound: No key has this id.
        """
        ...

    def make(self, wish: KeyWish, at: datetime) -> tuple[HeldKey, str]:
        """Make a key; the key itself is given this once."""
        ...

    def replace(
        self, key_id: str, at: datetime, until: datetime, ends: datetime | None = None
    ) -> tuple[HeldKey, str]:
        """Make a key like another, which ends at a time; the new one may end at another.

        Raises:
            KeyNotFound: No key has this id, or it has ended.
        """
        ...

    def revoke(self, key_id: str, at: datetime, matches: Matches | None = None) -> None:
        """End a key now.

        Raises:
            KeyNotFound: No key has this id.
            StaleState: It is not as it was seen.
        """
        ...

    def trail(self, subject: str, after: Moment | None, most: int) -> list[AuditEntry]:
        """Give who changed what, newest first; of one subject, or "" for all."""
        ...


def make_key(wish: KeyWish, caller: Caller, keys: KeyRing, at: datetime) -> tuple[HeldKey, str]:
    """Make a key that may do no more than its maker.

    Raises:
        Forbidden: It would have a scope that the caller does not have.
    """
    refuse_more_than(caller, wish)
    return keys.make(wish, at)


def replace_key(
    key_id: str,
    caller: Caller,
    keys: KeyRing,
    at: datetime,
    until: datetime,
    ends: datetime | None = None,
) -> tuple[HeldKey, str]:
    """Make a key like another, which ends at a time.

    Args:
        key_id: The other.
        caller: Who asks.
        keys: The dealer's.
        at: When.
        until: How long the other stays good.
        ends: When the new one ends; None for when the other would have.

    Raises:
        KeyNotFound: No key has this id, or it has ended.
        Forbidden: It has a scope that the caller does not have.
    """
    refuse_more_than(caller, keys.key(key_id).wish)
    return keys.replace(key_id, at, until, ends)


def refuse_more_than(caller: Caller, wish: KeyWish) -> None:
    """Refuse a key that may do what its maker may not.

    Raises:
        Forbidden: It would.
    """
    held = caller.scopes | IN_ADDRESSES
    more = sorted(scope.value for scope in wish.scopes if scope not in held)
    if more:
        raise Forbidden(
            f"The {caller.who} does not have {', '.join(more)} itself.",
            advice="A key gives no more than it has.",
        )

"""Who calls: the dealer whose books are opened, and what the caller may do in them."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Protocol


class Scope(StrEnum):
    """What a key may be allowed to do (a scope in the sense of RFC 6749, section 3.3)."""

    ESTIMATES = "estimates"
    SHEETS = "sheets"
    QUOTES_READ = "quotes:read"
    QUOTES_WRITE = "quotes:write"
    COSTS_READ = "costs:read"
    CATALOGUE_READ = "catalogue:read"
    CATALOGUE_WRITE = "catalogue:write"
    OFFCUTS_READ = "offcuts:read"
    OFFCUTS_WRITE = "offcuts:write"
    RUNS = "runs"
    WEBHOOKS = "webhooks"
    AUDIT_READ = "audit:read"
    KEYS = "keys"


MEANING: Mapping[Scope, str] = {
    Scope.ESTIMATES: "lay out, check, take off and estimate; nothing is kept",
    Scope.SHEETS: "for a publishable key: estimate by an address alone, from no web page",
    Scope.QUOTES_READ: "read quotes and their documents",
    Scope.QUOTES_WRITE: "make quotes and decide about them",
    Scope.COSTS_READ: "see costs and margins; send markups for a kept price table",
    Scope.CATALOGUE_READ: "read railing systems, price tables, pricing rules and amendments",
    Scope.CATALOGUE_WRITE: "change them",
    Scope.OFFCUTS_READ: "see the offcuts on hand",
    Scope.OFFCUTS_WRITE: "add and remove offcuts",
    Scope.RUNS: "start and steer re-pricing runs",
    Scope.WEBHOOKS: "read events and manage where they are sent",
    Scope.AUDIT_READ: "read who changed what",
    Scope.KEYS: "manage keys and the dealer's settings",
}

PUBLISHABLE_LEAD = "evbp_"  # begins every publishable key, so that one can be told at sight

# A key that stands in a web page is anyone's: it may compute, and read nothing that is kept.
PUBLISHABLE = frozenset({Scope.ESTIMATES})
# So is one in the address that a spreadsheet fetches; the dealer says of a key that it may.
IN_ADDRESSES = PUBLISHABLE | {Scope.SHEETS}


@dataclass(frozen=True, slots=True)
class Caller:
    """Who calls.

    Attributes:
        dealer: Id of the dealer whose books are opened.
        who: How the audit trail names the caller, such as "key evb_4k2hq7".
        scopes: What it may do.
        publishable: Whether its key stands in a web page.
        origins: Web origins a publishable key may be used from, such as "https://shop.example".
        per_minute: Most requests in a minute, None for the service's own bound.
    """

    dealer: str
    who: str
    scopes: frozenset[Scope]
    publishable: bool = False
    origins: tuple[str, ...] = ()
    per_minute: int | None = None

    @property
    def by_address(self) -> bool:
        """Tell whether the key may stand in an address that is fetched from no web page."""
        return self.publishable and Scope.SHEETS in self.scopes


@dataclass(frozen=True, slots=True)
class KeyWish:
    """What a new key is to be.

    Attributes:
        label: The dealer's own words.
        scopes: What it may do.
        publishable: Whether it will stand in a web page.
        origins: Web origins it may be used from, for a publishable key.
        per_minute: Most requests in a minute, None for the service's own bound.
        expires_at: None without end.
    """

    label: str
    scopes: Collection[Scope]
    publishable: bool = False
    origins: Sequence[str] = ()
    per_minute: int | None = None
    expires_at: datetime | None = None


class Gate(Protocol):
    """Tells callers by what they show."""

    def caller(self, credential: str, at: datetime) -> Caller:
        """Give the caller that a bearer credential belongs to.

        Raises:
            Unauthenticated: It belongs to nobody, or no longer.
        """
        ...

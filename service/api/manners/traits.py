"""What HTTP should know of an operation: what it answers with, and whether it is to go."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import current_app, request


@dataclass(frozen=True, slots=True)
class Traits:
    """What is said of an operation where it is described.

    Attributes:
        offers: Media types of its good answers, the one for callers without a wish first.
        stable: Whether an answer stays right until what it tells of changes.
        deprecated: Day from which it should no longer be used, None while it may be.
        sunset: Day on which it may end.
        by_address: Whether callers without headers ask it, such as the cells of a spreadsheet: its
            address may hold a publishable key, and its refusals are sentences where it is asked.
    """

    offers: tuple[str, ...] = ()
    stable: bool = True
    deprecated: date | None = None
    sunset: date | None = None
    by_address: bool = False

    def __post_init__(self) -> None:
        if self.sunset and not self.deprecated:
            raise ValueError("an operation that ends is deprecated before")
        if self.sunset and self.deprecated and self.sunset < self.deprecated:
            raise ValueError("an operation ends after it is deprecated, not before")  # RFC 9745, 4


# Of routes that are not in the document: it, its page and the page's parts.
PLAIN = Traits()


def describe(view: Callable[..., Any], traits: Traits) -> None:
    """Note the traits of a view."""
    view.traits = traits  # type: ignore[attr-defined]


def traits_asked() -> Traits:
    """Give the traits of the view that the current request asks for."""
    view = current_app.view_functions.get(request.endpoint or "")
    traits: Traits = getattr(view, "traits", PLAIN)
    return traits

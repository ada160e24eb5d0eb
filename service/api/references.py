"""References of a request to what its dealer keeps: looked up and pinned before it is read.

A reference may leave its version open. Pinning writes the id and the version in its place, so
that whatever reads the body again reads the same thing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

import orjson

from service.api.body import merged
from service.api.loaded import LoadedVersions, loaded_table
from service.api.schemas.catalogue import amendments_kept, pricing_kept, system_kept
from service.api.schemas.stored import REFERENCE, Key, names_stored
from service.domain.errors import UnknownReference, Where
from service.usecases.catalogue import Catalogue, Document, Kind, PriceTables

PRICE_TABLE = "price_table"
_DOCUMENTS = {kind.value: kind for kind in Kind}
_LISTS = ("codes", "alternatives")
_WHICH_CODE = ("code", "edition", "place")
_LOADS = {
    Kind.SYSTEM: system_kept,
    Kind.PRICING: pricing_kept,
    Kind.AMENDMENTS: amendments_kept,
}
_ABOUT = 500  # weight of a document beside that of a row of prices


class Kept(Protocol):
    """The stores that references point into."""

    @property
    def catalogue(self) -> Catalogue:
        """Systems, rules, amendments."""
        ...

    @property
    def price_tables(self) -> PriceTables:
        """Price tables."""
        ...


@dataclass(frozen=True, slots=True)
class Pinned:
    """A body whose references are pinned.

    Attributes:
        content: The body; the one given, where nothing was to be pinned.
        inputs: Id and version by kind, and the day they were looked up for; empty for nothing.
        things: What they refer to, loaded.
    """

    content: Any
    inputs: dict[str, Any]
    things: dict[Key, Any]


def pin(
    content: Any, kept: Kept | None, loaded: LoadedVersions, today: date, *, defaults: bool = True
) -> Pinned:
    """Look up every reference of a body.

    Args:
        content: The body as it was sent.
        kept: What its dealer keeps.
        loaded: What was loaded before.
        today: Stands for the day of the quote where the body states none.
        defaults: Whether places take their default amendments where the body says nothing of
            any; not for a body that was pinned before.

    Raises:
        UnknownReference: A name refers to nothing, or to nothing in force on the day.
    """
    if kept is None or not isinstance(content, Mapping):
        return Pinned(content, {}, {})
    work = _Work(kept, loaded, _day(content, today), defaults)
    pinned = work.pinned(content, ())
    if not work.inputs:
        return Pinned(content, {}, {})
    return Pinned(pinned, {**work.inputs, "on": work.day.isoformat()}, work.things)


def patched(content: Mapping[str, Any], patch: Mapping[str, Any]) -> tuple[Any, bool]:
    """Apply a merge patch to a body that may have been pinned.

    What the patch names takes the whole place of what stood there, so that no version of the old
    is asked of the new. Named amendments of a code do not go over to another code or place.

    Returns:
        The body, and whether it is for another place, which may have default amendments.
    """
    code = patch.get("code")
    moves = isinstance(code, Mapping) and any(name in code for name in _WHICH_CODE)
    kept = _without_named(content, patch)
    if moves and isinstance(kept.get("code"), Mapping):
        left = {
            name: value
            for name, value in kept["code"].items()
            if name != "amendments" or not names_stored(value)
        }
        kept["code"] = left
    return merged(kept, patch), moves


def _without_named(content: Mapping[str, Any], patch: Mapping[str, Any]) -> dict[str, Any]:
    """Take out of an object what a patch names anew."""
    kept = dict(content)
    for name, change in patch.items():
        if names_stored(change):
            kept.pop(name, None)
        elif isinstance(change, Mapping) and isinstance(kept.get(name), Mapping):
            kept[name] = _without_named(kept[name], change)
    return kept


def _day(content: Mapping[str, Any], today: date) -> date:
    """Give the day of the quote; what is no day is complained of by the schema."""
    try:
        return date.fromisoformat(content["on"]) if "on" in content else today
    except (TypeError, ValueError):
        return today


class _Work:
    """The references of one body, as they are found."""

    def __init__(self, kept: Kept, loaded: LoadedVersions, day: date, defaults: bool) -> None:
        self.inputs: dict[str, Any] = {}
        self.things: dict[Key, Any] = {}
        self.day = day
        self._kept = kept
        self._loaded = loaded
        self._defaults = defaults

    def pinned(self, content: Mapping[str, Any], path: Where) -> dict[str, Any]:
        """Give an object with the references in it pinned."""
        new = dict(content)
        for name, value in content.items():
            if name == "code" and isinstance(value, Mapping):
                new[name] = self._code(value, (*path, name))
            elif name in _LISTS and not path and isinstance(value, list):
                new[name] = [self._entry(name, one, i) for i, one in enumerate(value)]
            elif (name in _DOCUMENTS or name == PRICE_TABLE) and _is_reference(value):
                new[name] = self._reference(name, value, (*path, name))
        return new

    def _entry(self, name: str, entry: Any, index: int) -> Any:
        if not isinstance(entry, Mapping):
            return entry
        read = self._code if name == "codes" else self.pinned
        return read(entry, (name, index))

    def _code(self, code: Mapping[str, Any], path: Where) -> dict[str, Any]:
        """Pin the amendments of a code; a place may have some that apply unasked."""
        place = code.get("place")
        if "amendments" not in code and self._defaults and isinstance(place, str):
            found = self._kept.catalogue.default_for(place.strip())
            if found:
                return {**code, "amendments": self._found(Kind.AMENDMENTS, found)}
        return self.pinned(code, path)

    def _reference(self, name: str, value: Mapping[str, Any], path: Where) -> dict[str, Any]:
        asked = REFERENCE.load(value)
        named, number = asked["stored"], asked.get("version")
        if name == PRICE_TABLE:
            return self._price_table(named, number, path)
        found = self._kept.catalogue.find(_DOCUMENTS[name], named, number)
        if found is None:
            raise self._unknown(name, named, number, path)
        return self._found(_DOCUMENTS[name], found)

    def _found(self, kind: Kind, found: Document) -> dict[str, Any]:
        held, number = found.named, found.version.number
        key = (kind.value, held.id, number)

        def load() -> Any:
            return _LOADS[kind](orjson.loads(found.body), held.name, number)

        self.things[key] = self._loaded.get((*key, found.version.digest), _ABOUT, load)
        return self._noted(key)

    def _price_table(self, named: str, number: int | None, path: Where) -> dict[str, Any]:
        store = self._kept.price_tables
        found = store.find(named, number, self.day)
        if found is None:
            raise self._unknown(PRICE_TABLE, named, number, path)
        key = (PRICE_TABLE, found.named.id, found.version.number)
        self.things[key] = loaded_table(store, self._loaded, found)
        return self._noted(key)

    def _noted(self, key: Key) -> dict[str, Any]:
        kind, held, number = key
        self.inputs[kind] = {"id": held, "version": number}
        return {"stored": held, "version": number}

    def _unknown(self, name: str, named: str, number: int | None, path: Where) -> UnknownReference:
        what = name.replace("_", " ")
        which = f" with a version {number}" if number else ""
        advice = f"GET {ADDRESSES[name]} lists what is kept."
        if name == PRICE_TABLE and not number:
            which = f" with a version in force on {self.day}"
            advice += " A version is in force once it is activated, from the day it was given."
        return UnknownReference(
            f"No {what} is kept under {named!r}{which}.", where=(*path, "stored"), advice=advice
        )


ADDRESSES = {
    "system": "/v1/systems",
    "pricing": "/v1/pricing-rules",
    "amendments": "/v1/amendments",
    PRICE_TABLE: "/v1/price-tables",
}


def _is_reference(value: Any) -> bool:
    """Tell a reference that can be looked up; the schema complains of any other."""
    return names_stored(value) and not REFERENCE.validate(value)

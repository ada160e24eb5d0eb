"""What stored versions load into, kept for reuse in this process.

A version never changes, so what it loads into is right for ever; the bound is on memory alone.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from threading import Lock
from typing import Any

from service.domain.pricing.price_table import PriceTable, TableVersion
from service.usecases.catalogue import PriceTables, PriceVersion

LARGEST = 100_000  # weights together; a row of prices weighs one


class LoadedVersions:
    """The versions last used, until they weigh too much together."""

    def __init__(self, largest: int = LARGEST) -> None:
        self._largest = largest
        self._held: OrderedDict[tuple[object, ...], tuple[int, Any]] = OrderedDict()
        self._weight = 0
        self._lock = Lock()

    def get(self, key: tuple[object, ...], weight: int, load: Callable[[], Any]) -> Any:
        """Give what a version loads into; nobody may change it.

        Args:
            key: Of the version, with the digest of what it holds.
            weight: How much it holds, about.
            load: Loads it; two that ask at once may both load it.
        """
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key][1]
        made = load()
        with self._lock:
            if key not in self._held:
                self._held[key] = (weight, made)
                self._weight += weight
            while self._weight > self._largest:
                _, (dropped, _) = self._held.popitem(last=False)
                self._weight -= dropped
        return made


def loaded_table(store: PriceTables, loaded: LoadedVersions, found: PriceVersion) -> PriceTable:
    """Give a version of a price table with all its rows."""
    held, number = found.named, found.version.number
    key = ("price_table", held.id, number, found.version.digest)
    table: PriceTable = loaded.get(key, found.row_count + 1, lambda: store.priced(found))
    # The day it is in force from may be set after it was loaded.
    return replace(table, stored=TableVersion(held.id, number, found.active_from))


def stored_table(
    store: PriceTables, loaded: LoadedVersions, table_id: str, number: int
) -> PriceTable:
    """Give a version of a price table by its id and number.

    Raises:
        NotKept: No table has the id, or it has no such version.
    """
    return loaded_table(store, loaded, store.version(table_id, number))

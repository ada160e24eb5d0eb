"""Records that are made by the thousand: frozen for the type checker, quick to make for Python.

A frozen dataclass sets each field of a new object through ``object.__setattr__``, which takes five
times as long as a plain assignment; of a quote of 1 400 records that was a tenth. So the classes
below are frozen where mypy reads them (strictly, at every change), and at run time are left open
but hashed by their fields as frozen ones are.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

__all__ = ["record"]

if TYPE_CHECKING:
    from dataclasses import dataclass as record
else:

    def record(*, frozen: bool, slots: bool) -> Callable[[type[Any]], type[Any]]:
        """Make a class a dataclass as ``dataclass`` does, but open."""
        return dataclass(slots=slots, unsafe_hash=frozen)

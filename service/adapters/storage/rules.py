"""A dealer's rules as they are kept with quotes: canonical JSON, and its digest.

Decimals and fractions are text, so that they come back to the digit. Every member is written, so
that a default may change; one that was not known when rules were written takes its default.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import fields
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import orjson

from service.domain.pricing.settings import PricingSettings

Reader = Callable[[Any], Any]


def write_rules(settings: PricingSettings) -> str:
    """Give the text that is kept.

    Example:
        >>> read_rules(write_rules(PricingSettings(Decimal("66.00"), ()))).labour_rate
        Decimal('66.00')
    """
    return orjson.dumps(_plain(settings), option=orjson.OPT_SORT_KEYS).decode()


def read_rules(text: str) -> PricingSettings:
    """Read what was kept.

    Raises:
        ValueError: It holds a member that this version does not know.
    """
    settings: PricingSettings = _READ(orjson.loads(text))
    return settings


def digest_of(text: str) -> str:
    """Give what the rules of a text are known by."""
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal | Fraction):
        return str(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if isinstance(value, frozenset):
        return sorted(value)
    members = _MEMBERS.get(type(value))
    return value if members is None else {name: _plain(getattr(value, name)) for name in members}


def _reader(kind: Any) -> Reader:
    """Give what reads a value of a kind, put together once."""
    if isinstance(kind, type) and kind in _MEMBERS:
        return _record_reader(kind)
    if get_origin(kind) in (Union, UnionType):
        (one,) = (each for each in get_args(kind) if each is not NoneType)
        read = _reader(one)
        return lambda value: None if value is None else read(value)
    if get_origin(kind) is tuple:
        each = _reader(get_args(kind)[0])
        return lambda value: tuple(each(one) for one in value)
    if get_origin(kind) is frozenset:
        return frozenset
    return kind if kind in (Decimal, Fraction) or issubclass(kind, Enum) else _as_it_is


def _as_it_is(value: Any) -> Any:
    return value


def _record_reader(kind: type) -> Reader:
    hints = get_type_hints(kind)
    readers = {name: _reader(hints[name]) for name in _MEMBERS[kind]}

    def read(value: Mapping[str, Any]) -> Any:
        unknown = value.keys() - readers.keys()
        if unknown:
            named = ", ".join(sorted(unknown))
            raise ValueError(f"these rules hold what this version does not know: {named}")
        return kind(**{name: readers[name](one) for name, one in value.items()})

    return read


def _records(kind: Any) -> set[type]:
    """Give a record and every record within it."""
    if hasattr(kind, "__dataclass_fields__"):
        inner, found = tuple(get_type_hints(kind).values()), {kind}
    else:
        inner, found = get_args(kind), set()
    for one in inner:
        found |= _records(one)
    return found


_MEMBERS = {kind: tuple(field.name for field in fields(kind)) for kind in _records(PricingSettings)}
_READ = _record_reader(PricingSettings)

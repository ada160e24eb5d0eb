"""Parts of kept lines by whole numbers, and the lines of an order as a text of them.

The number of a part is made of what it is, so that nobody counts and nobody waits.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import astuple
from decimal import Decimal
from functools import lru_cache
from typing import Any

import orjson

from service.adapters.storage.price_rows import SCALE, from_millionths
from service.domain.money import minor_unit
from service.domain.pricing.amounts import EXACT
from service.domain.pricing.material import MaterialLine, Part

_LARGEST = 2**63 - 1
_BYTES = 6  # of the digest; 48 bits stay exact wherever numbers are doubles


@lru_cache(maxsize=20_000)
def part_id(part: Part) -> int:
    """Give the number of a part: the first 48 bits of the SHA-256 of what it is."""
    digest = hashlib.sha256(orjson.dumps(astuple(part))).digest()
    return int.from_bytes(digest[:_BYTES])


def columns_of_part(part: Part) -> dict[str, Any]:
    """Give the columns of a part."""
    return {"id": part_id(part), **{name: getattr(part, name) for name in _MEMBERS}}


def part_of(row: Any) -> Part:
    """Give the part of its columns."""
    return Part(*(getattr(row, name) for name in _MEMBERS))


def write_lines(lines: Sequence[MaterialLine], currency: str) -> str:
    """Give the text of some lines, "" where a number of them does not fit exactly.

    Example:
        >>> screws = Part("goods", "S", "", "", "C62", 100, "")
        >>> line = MaterialLine(screws, Decimal("1.5"), Decimal("0.12"))
        >>> write_lines([line], "USD") == f"[{part_id(screws)},1500000,12]"
        True
        >>> write_lines([MaterialLine(screws, Decimal("0.0000005"), Decimal(0))], "USD")
        ''
    """
    places = -int(minor_unit(currency).as_tuple().exponent)
    flat: list[int] = []
    for line in lines:
        quantity = _whole(line.quantity, SCALE)
        amount = _whole(line.amount, places)
        if quantity is None or amount is None:
            return ""
        flat += (part_id(line.part), quantity, amount)
    return orjson.dumps(flat).decode()


def read_lines(
    text: str, parts: Mapping[int, Part], currency: str, amounts: str | None = None
) -> tuple[MaterialLine, ...]:
    """Give the lines of a text.

    Args:
        text: Which is not "".
        parts: Those it names, by their numbers.
        currency: Of the amounts.
        amounts: Text of others than those it has, one for each line.

    Raises:
        ValueError: There are more amounts than lines, or fewer.
    """
    step = minor_unit(currency)
    flat = orjson.loads(text)
    if amounts is not None:
        flat[2::3] = orjson.loads(amounts)
    return tuple(
        MaterialLine(parts[part], from_millionths(quantity), EXACT.multiply(Decimal(amount), step))
        for part, quantity, amount in zip(flat[::3], flat[1::3], flat[2::3], strict=True)
    )


def parts_in(text: str) -> list[int]:
    """Give the numbers of the parts that a text names, each once."""
    return list(dict.fromkeys(orjson.loads(text)[::3]))


def _whole(value: Decimal, places: int) -> int | None:
    scaled = value.scaleb(places, EXACT)
    whole = int(scaled)
    return whole if whole == scaled and abs(whole) <= _LARGEST else None


_MEMBERS = ("kind", "sku", "name", "category", "unit_of_measure", "pack_size", "tax_class")

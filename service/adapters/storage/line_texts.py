"""The lines of many kept orders as flat texts, and as the arrays that they are priced by.

A text is a JSON array of whole numbers of 64 bits: part, quantity in millionths, amount in minor
units, and again for every line. Of a re-priced quote only the amounts are its own. Ten thousand
texts are read as one, and written as one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import orjson

if TYPE_CHECKING:  # it takes longer to load than a quote to answer
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

_FIGURES = 3
_ALLOWED = b"0123456789,-"
_MALFORMED = "the kept lines of a quote are not whole numbers by threes"


@dataclass(frozen=True, slots=True)
class LineArrays:
    """Lines of many quotes.

    Attributes:
        offsets: Where the lines of each quote begin, and the end of the last.
        parts: Id of the part of each line.
        quantities: In millionths.
        amounts: As last priced, in minor units.
    """

    offsets: "Ints"
    parts: "Ints"
    quantities: "Ints"
    amounts: "Ints"


def read_lines(texts: Sequence[str]) -> LineArrays:
    """Read the lines of quotes, one text for each.

    Raises:
        ValueError: A text is not an array of threes of whole numbers, written without spaces.

    Example:
        >>> read_lines(["[7,2000000,150,9,1000000,80]", "[]"]).offsets.tolist()
        [0, 2, 2]
    """
    import numpy as np

    flat, counts = _read(texts)
    if (counts % _FIGURES).any():
        raise ValueError(_MALFORMED)
    offsets = np.append(0, np.cumsum(counts // _FIGURES))
    columns = (np.ascontiguousarray(flat[n::_FIGURES]) for n in range(_FIGURES))
    return LineArrays(offsets, *columns)


def read_orders(texts: Sequence[str], materials: Sequence[str | None]) -> LineArrays:
    """Read the lines of orders, some of which have the material of another.

    Args:
        texts: Of each order; where it has another's material, its amounts alone.
        materials: Text of the order whose material it has, None where that is its own.

    Raises:
        ValueError: A text is malformed, or one order has more amounts than lines, or fewer.

    Example:
        >>> read_orders(["[80]", "[7,2000000,150]"], ["[9,1000000,70]", None]).amounts.tolist()
        [80, 150]
    """
    import numpy as np

    lines = read_lines([material or own for own, material in zip(texts, materials, strict=True)])
    led = np.array([material is not None for material in materials], np.bool_)
    if not led.any():
        return lines
    own, counts = _read([texts[place] for place in np.flatnonzero(led).tolist()])
    kept = np.diff(lines.offsets)
    if (kept[led] != counts).any():
        raise ValueError("an order has other lines than the one whose material it has")
    amounts = lines.amounts.copy()
    amounts[np.repeat(led, kept)] = own
    return replace(lines, amounts=amounts)


def write_amounts(offsets: "Ints", amounts: "Ints") -> list[str]:
    """Write the amounts of quotes, one text for each.

    Args:
        offsets: Where the lines of each quote begin, and the end of the last.
        amounts: Of every line, in minor units.

    Example:
        >>> import numpy as np
        >>> write_amounts(np.array([0, 2, 2, 3]), np.array([150, 80, -7]))
        ['[150,80]', '[]', '[-7]']
    """
    import numpy as np

    whole = orjson.dumps(amounts, option=orjson.OPT_SERIALIZE_NUMPY)
    # Each number stands between two of these; of none there are the brackets alone.
    marks = np.flatnonzero(np.isin(np.frombuffer(whole, np.uint8), np.frombuffer(b"[,]", np.uint8)))
    begins, ends, text = marks[offsets[:-1]], marks[offsets[1:]], whole.decode()
    return [
        f"[{text[begin + 1 : end]}]"
        for begin, end in zip(begins.tolist(), ends.tolist(), strict=True)
    ]


def _read(texts: Sequence[str]) -> tuple["Ints", "Ints"]:
    """Give the whole numbers of all texts, and how many each has."""
    import numpy as np

    counts = [text.count(",") + 1 if text != "[]" else 0 for text in texts]
    joined = ",".join([text[1:-1] for text in texts if text != "[]"])
    if not _well_formed(texts, joined):
        raise ValueError(_MALFORMED)
    # Unlike a JSON reader it makes no Python number of each, and is four times as fast.
    flat = np.fromstring(joined, dtype=np.int64, sep=",") if joined else np.zeros(0, np.int64)
    if len(flat) != sum(counts):
        raise ValueError(_MALFORMED)
    return flat, np.array(counts, np.int64)


def _well_formed(texts: Sequence[str], joined: str) -> bool:
    """Tell whether there is nothing but whole numbers in brackets."""
    framed = all(text[:1] == "[" and text[-1:] == "]" for text in texts)
    bare = joined.encode()
    if not framed or bare.translate(None, _ALLOWED):
        return False
    return b"-" not in bare or b"-," not in bare + b","  # one mark is looked for much faster


def numbered(ids: "Ints", known: "Ints") -> "Ints":
    """Give the place of each id among those that are known.

    Args:
        ids: Of lines.
        known: Rising.

    Raises:
        KeyError: One is not known.

    Example:
        >>> import numpy as np
        >>> numbered(np.array([9, 7, 9]), np.array([7, 8, 9])).tolist()
        [2, 0, 2]
    """
    import numpy as np

    places = np.searchsorted(known, ids)
    found = known[np.minimum(places, len(known) - 1)] == ids if len(known) else ids != ids
    if not found.all():
        raise KeyError(f"no part is kept under the id {int(ids[~found][0])}")
    return places

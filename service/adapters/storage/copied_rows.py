"""Rows as the text that PostgreSQL's COPY reads, made column by column.

Source: PostgreSQL documentation, "COPY", text format, and "Binary Data Types", escape format.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

_NULL = "\\N"
_AT_ONCE = 256  # rows; a text that stays in the processor's cache is made several times as fast
_CONTROLS = bytes([*range(ord("\n")), *range(ord("\n") + 1, ord(" ")), 0x7F])
_ESCAPED = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})


def copied_rows(same: Mapping[str, Any], columns: Mapping[str, Sequence[Any]]) -> Iterator[str]:
    """Give rows in pieces, first what they share, then what is of each.

    Args:
        same: Values that every row has, by column.
        columns: Values of each row, by column: texts, bytes, whole numbers, flags or None.

    Example:
        >>> "".join(copied_rows({"run": "r"}, {"quote": ["a", "b"], "after": [7, 8]})).split()
        ['r', 'a', '7', 'r', 'b', '8']
    """
    shared = [_text(value).replace("%", "%%") for value in same.values()]
    row = "\t".join([*shared, *["%s"] * len(columns)]) + "\n"
    every = [_texts(values) for values in columns.values()]
    for start in range(0, len(every[0]), _AT_ONCE):
        piece = zip(*(values[start : start + _AT_ONCE] for values in every), strict=True)
        yield "".join([row % values for values in piece])


def _texts(values: Sequence[Any]) -> Sequence[Any]:
    """Give the values of a column as they stand in a row; all are of one kind, or None."""
    if None in values:
        return [_text(value) for value in values]
    if isinstance(values[0], bytes):
        return _of_bytes(values)
    if not isinstance(values[0], str):
        return values
    whole = "".join(values)
    if any(special in whole for special in "\\\t\n\r"):
        return [value.translate(_ESCAPED) for value in values]
    return values


def _of_bytes(values: Sequence[bytes]) -> Sequence[str]:
    """Give bytes that are plain text as they are: the database reads half as much as in hex."""
    whole = b"\n".join(values)
    if is_plain(whole, besides=b"\\") and whole.count(b"\n") == len(values) - 1:
        return whole.decode().split("\n")
    return [_text(value) for value in values]


def is_plain(text: bytes, besides: bytes = b"") -> bool:
    r"""Tell whether there is nothing but ASCII that can be printed, and ends of lines.

    Args:
        text: Of any length; it is gone through as fast as it can be copied.
        besides: What must not be there either.

    Example:
        >>> is_plain(b"a b"), is_plain(b"a\tb"), is_plain(b"a b", besides=b" ")
        (True, False, False)
    """
    return text.isascii() and len(text.translate(None, _CONTROLS + besides)) == len(text)


def _text(value: Any) -> str:
    if value is None:
        return _NULL
    if isinstance(value, bytes):
        return "\\\\x" + value.hex()
    return str(value).translate(_ESCAPED)

"""Makes any text fit to stand in XML, before it is escaped."""

import re

# Letters that reorder their neighbours or that XML 1.0 cannot hold.
_BIDI = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}
_UNFIT = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff"
    + "".join(chr(plane << 16 | end) for plane in range(17) for end in (0xFFFE, 0xFFFF))
    + "]"
)


def fit_for_xml(text: str) -> str:
    r"""Replace what XML 1.0 forbids by U+FFFD and line breaks by blanks; drop turning marks.

    Example:
        >>> fit_for_xml("a\x00\nb\u202e")
        'a\ufffd b'
    """
    if text.isascii() and text.isprintable():
        return text
    return _UNFIT.sub(lambda found: _allowed(found[0]), text)


def _allowed(letter: str) -> str:
    code = ord(letter)
    if code in _BIDI:
        return ""
    if letter in "\t\n\r\x85\u2028\u2029":
        return " "
    forbidden = code < 0x20 or 0x7F <= code < 0xA0 or 0xD800 <= code < 0xE000
    return "\ufffd" if forbidden or code & 0xFFFE == 0xFFFE else letter

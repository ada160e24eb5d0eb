"""Web origins: the pages a browser calls from, written as the browser writes them.

Source: RFC 6454, section 6.2 (serialization of an origin: lower case, no port where it is the
scheme's own).
"""

import re

ORIGIN = r"https?://(?:[A-Za-z0-9.-]{1,200}|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?"
EXAMPLE = "https://shop.example"
_OWN_PORT = re.compile(r"^(?:(http://.*):80|(https://.*):443)$")


def origin_of(text: str) -> str:
    """Give an origin as browsers send it.

    Raises:
        ValueError: It is none; a path, an asterisk or a name alone is not.

    Example:
        >>> origin_of("https://Shop.example:443")
        'https://shop.example'
    """
    if not re.fullmatch(ORIGIN, text):
        raise ValueError(f"{text!r} is no origin; write one such as {EXAMPLE}, without a path")
    lower = text.lower()
    found = _OWN_PORT.match(lower)
    return (found[1] or found[2]) if found else lower

"""What a dealer's papers carry at head and foot."""

import struct
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.usecases.conditions import Matches

_PNG = b"\x89PNG\r\n\x1a\n"
_MOST_PIXELS = 4_000_000
_MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Letterhead:
    """A dealer as the dealer signs.

    Attributes:
        address: Lines of the postal address.
        contact: Lines such as telephone, e-mail and web address.
        registration: Number a dealer must print: company, tax or licence.
        footer: The dealer's own words at the end of a quote: terms, thanks.
        logo: PNG, empty for none.
        revision: Counts its changes; 0 before the first.
    """

    name: str
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    registration: str = ""
    footer: str = ""
    logo: bytes = b""
    revision: int = 0

    def __post_init__(self) -> None:
        """Refuse a logo that is none, or that would unfold to more than paper can show."""
        if self.logo:
            png_size(self.logo)


UNNAMED = Letterhead("")


class Letterheads(Protocol):
    """Where a dealer's letterhead is kept."""

    def letterhead(self) -> Letterhead:
        """Give what was set, else the dealer's name alone."""
        ...

    def change(self, head: Letterhead, at: datetime, matches: Matches | None = None) -> Letterhead:
        """Keep another letterhead, and give it with its revision.

        Raises:
            StaleState: The one there is is not the one that was seen.
        """
        ...


def png_size(content: bytes) -> tuple[int, int]:
    """Read the width and height of a PNG from its head, without unfolding it. [px]

    Raises:
        ValueError: It is no PNG, or too large.
    """
    head = content[:24]
    if len(head) < 24 or not head.startswith(_PNG) or head[12:16] != b"IHDR":
        raise ValueError("The logo is no PNG file: send one.")
    width, height = struct.unpack(">II", head[16:24])
    if not 0 < width * height <= _MOST_PIXELS or len(content) > _MOST_BYTES:
        raise ValueError(
            f"The logo is {width} x {height} pixels in {len(content)} bytes; send one of at most "
            f"{_MOST_PIXELS} pixels and {_MOST_BYTES} bytes."
        )
    return width, height

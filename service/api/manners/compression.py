"""Answers by gzip, for those who take it and where it pays.

Own code: what matters is which ETag goes with which bytes, and that If-Match still finds the state
it was read from; the libraries leave the second to the caller.

Source: RFC 9110, sections 8.4.1.3 (gzip), 8.8.3.3 (an entity tag tells codings apart), 12.5.3
(Accept-Encoding) and 12.5.5 (Vary).
"""

import gzip
import re
import zlib
from collections.abc import Iterable, Iterator

from flask import Request, Response

CODED = "-gzip"
# Below it the headers weigh more than what is saved; common practice.
WORTH_BYTES = 1000
# Measured on the demo quote: level 6 is 7 % smaller and takes twice as long.
LEVEL = 4
_GZIP = 16 + zlib.MAX_WBITS  # asks zlib for the form of gzip
_TYPES = re.compile(r"text/|application/([\w.+-]+\+)?(json|xml|javascript)$|image/svg\+xml$")
_CODED_TAG = re.compile(rf'{CODED}(?=")')


def may_shrink(response: Response) -> bool:
    """Tell whether the answer's kind is ever compressed, whoever asks."""
    return (
        response.status_code not in (204, 206, 304)
        and "Content-Encoding" not in response.headers
        and _TYPES.match(response.mimetype or "") is not None
    )


def prefers_gzip(request: Request, length: int) -> bool:
    """Tell whether the caller would have gzip rather than the plain answer."""
    taken = request.accept_encodings
    weight = taken.quality("gzip")
    if weight <= 0 or not length:
        return False
    plain = taken.quality("identity") if _names_plain(request) else None
    if plain == 0:
        return True
    return length >= WORTH_BYTES and (plain is None or weight >= plain)


def _names_plain(request: Request) -> bool:
    """Tell whether the caller weighs the plain answer; unnamed, it is merely acceptable."""
    named = {name.lower() for name, _ in request.accept_encodings}
    return "identity" in named or ("*" in named and "gzip" in named)


def shrink(content: bytes) -> bytes:
    """Compress, to the same bytes every time."""
    return gzip.compress(content, LEVEL, mtime=0)


def shrink_pieces(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Compress a stream so that whoever reads it has each piece as soon as it is sent."""
    coder = zlib.compressobj(LEVEL, zlib.DEFLATED, _GZIP)
    for piece in pieces:
        yield coder.compress(piece) + coder.flush(zlib.Z_SYNC_FLUSH)
    yield coder.flush()


def of_coded(tag: str) -> str:
    """Give the entity tag of the compressed form."""
    return tag + CODED


def of_state(tags: str) -> str:
    """Give a list of entity tags as those of the plain forms, which name the same states.

    Example:
        >>> of_state('"3-gzip", "4"')
        '"3", "4"'
    """
    return _CODED_TAG.sub("", tags)

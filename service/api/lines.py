"""Bodies of one JSON text to a line (NDJSON), read line by line in bounded memory.

A body whose length is told is read to its end first, to a file where it is large: many callers
send all of it before they read anything, and both sides would wait for each other once their
buffers are full. One that is sent in chunks is read as it arrives, so that a caller may wait for
one answer before sending the next line.
"""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from flask import Request
from werkzeug.exceptions import (
    BadRequest,
    HTTPException,
    RequestEntityTooLarge,
    RequestTimeout,
    UnsupportedMediaType,
)

from service.api.body import CodedBody

NDJSON, JSONL = "application/x-ndjson", "application/jsonl"
LINES = (NDJSON, JSONL)  # neither is registered with IANA, both are in use
MOST_BYTES = 200_000_000  # of a body whose length is told
STANDSTILL_SECONDS = 60
_PIECE = 65_536
_LEAST_READ = 1024
_IN_MEMORY = 1_000_000
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class SentLine:
    """A line of a body.

    Attributes:
        number: From 1, empty lines counted too.
        content: Without its end, None where it is too long.
    """

    number: int
    content: bytes | None


def pieces_of(request: Request) -> Iterator[bytes]:
    """Give a body in pieces; what can be said of it without reading is said at once.

    Raises:
        UnsupportedMediaType: It is not declared as lines, plain.
        RequestEntityTooLarge: Its length passes the bound.
    """
    if request.mimetype not in LINES:
        raise UnsupportedMediaType(f"Send one JSON text to a line as {' or '.join(LINES)}.")
    if request.headers.get("Content-Encoding", "identity").lower() != "identity":
        raise CodedBody
    length = request.content_length
    if (length or 0) > MOST_BYTES:
        raise RequestEntityTooLarge(
            f"The body is larger than {MOST_BYTES} bytes; send it in parts, or in chunks."
        )
    pieces = _arriving(request.stream) if length is None else _spooled(request.stream, length)
    return _tell_breaks(pieces)


def lines_in(pieces: Iterable[bytes], most_bytes: int) -> Iterator[SentLine]:
    """Part pieces into lines; of one that is too long no more is held than the bound.

    Example:
        >>> [line.content for line in lines_in([b"ab", bytes([99, 10, 10]), b"too long"], 3)]
        [b'abc', b'', None]
    """
    number, held, too_long = 1, bytearray(), False
    for piece in pieces:
        *ended, begun = piece.split(b"\n")
        for part in ended:
            too_long = too_long or len(held) + len(part) > most_bytes
            yield SentLine(number, None if too_long else _content(number, held + part))
            number, held, too_long = number + 1, bytearray(), False
        too_long = too_long or len(held) + len(begun) > most_bytes
        held = bytearray() if too_long else held + begun
    if held or too_long:
        yield SentLine(number, None if too_long else _content(number, held))


def be_patient(environ: dict[str, Any]) -> Any:
    """Let a stream that stands still for long break off, where the server gives its socket.

    Returns:
        What to call with it at the end, so that the next request of the connection is as any.
    """
    socket = environ.get("gunicorn.socket")
    before = socket.gettimeout() if socket else None
    if socket:
        socket.settimeout(STANDSTILL_SECONDS)

    def restore() -> None:
        if socket:
            with suppress(OSError):  # closed meanwhile
                socket.settimeout(before)

    return restore


def _content(number: int, line: bytearray) -> bytes:
    content = bytes(line).strip(b" \t\r")
    return content.removeprefix(_BOM) if number == 1 else content


def _tell_breaks(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Say in words of HTTP why reading broke off.

    Raises:
        RequestTimeout: Nothing came for long.
        BadRequest: The body ended too early, or its chunks are no chunks.
    """
    try:
        yield from pieces
    except TimeoutError:
        raise RequestTimeout(f"Nothing was sent for {STANDSTILL_SECONDS} s.") from None
    except HTTPException:
        raise
    except Exception as error:  # each server has exceptions of its own for this
        raise BadRequest("The body broke off.") from error


def _spooled(stream: IO[bytes], length: int) -> Iterator[bytes]:
    with SpooledTemporaryFile(_IN_MEMORY) as spool:
        while piece := stream.read(_PIECE):
            spool.write(piece)
        if spool.tell() < length:
            raise BadRequest(f"The body ended after {spool.tell()} of {length} bytes.")
        spool.seek(0)
        while piece := spool.read(_PIECE):
            yield piece


def _arriving(stream: IO[bytes]) -> Iterator[bytes]:
    while first := stream.readline(1):
        yield first + _at_hand(stream)


def _at_hand(stream: IO[bytes]) -> bytes:
    """Read on without waiting.

    Streams of WSGI wait until they have all that is asked for, and gunicorn's asks its reader of
    chunks for at least 1024 bytes. So as much is asked for as that reader is seen to hold.
    """
    buffer: Any = getattr(getattr(stream, "reader", None), "buf", None)
    if buffer is None:  # of another server, which waits as it does
        return stream.readline(_PIECE)
    held = min(buffer.tell(), _PIECE)
    if held >= _LEAST_READ:
        return stream.read(held)
    parts = []
    while held and (part := stream.readline(held)):
        parts.append(part)
        held -= len(part)
    return b"".join(parts)

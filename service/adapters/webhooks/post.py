"""One POST to an endpoint that nobody here trusts.

Its name is looked up once, every address is checked, and the connection goes to the address that
was checked: a name that changes its address in between gains nothing. No redirect is followed, no
proxy is asked, the body of the answer is not read, and all of it ends after some seconds. urllib3
speaks HTTP here, over a connection it is handed; its own pools would look the name up again.
"""

import logging
import socket
import ssl
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from http.client import HTTPException
from typing import Any
from urllib.parse import SplitResult, urlsplit

from urllib3.connection import HTTPConnection
from urllib3.exceptions import HTTPError, InvalidHeader
from urllib3.util import Retry

from service.usecases.addresses import Network, is_listed, is_open
from service.usecases.events import Receipt

Lookup = Callable[..., Sequence[Any]]
Answer = tuple[int, timedelta | None]  # status, and how long to leave the endpoint alone
_MAY_ASK = (429, 503)
_MOST_SECONDS = 6 * 3600.0  # as later versions of urllib3 bound it by themselves
_PORTS = {"http": 80, "https": 443}
_log = logging.getLogger("service")


class Refused(Exception):
    """Nothing is sent to this address."""


@dataclass(frozen=True)
class Postman:
    """Sends to endpoints.

    Attributes:
        allowed: Networks that may be sent to although they are not public, over http too.
        seconds: After which an endpoint counts as not answering. [s]
        lookup: Resolver, as ``socket.getaddrinfo`` is called.
        tls: Whom to trust.
    """

    allowed: Sequence[Network] = ()
    seconds: float = 10.0
    lookup: Lookup = socket.getaddrinfo
    tls: ssl.SSLContext = field(default_factory=ssl.create_default_context)

    def post(self, url: str, headers: Mapping[str, str], body: bytes) -> Receipt:
        """Send once."""
        try:
            parts = urlsplit(url)
            status, later = self._exchange(parts, headers, body)
        except Refused as error:
            return Receipt(None, str(error))
        except (OSError, HTTPError, HTTPException, UnicodeError, ValueError) as error:
            _log.debug("an endpoint was not reached", exc_info=error)
            return Receipt(None, f"It was not reached: {type(error).__name__}.")
        taken = 200 <= status < 300
        return Receipt(status, "" if taken else f"It answered {status}.", later)

    def _exchange(self, parts: SplitResult, headers: Mapping[str, str], body: bytes) -> Answer:
        host, port = parts.hostname or "", parts.port or _PORTS[parts.scheme]
        line = self._connect(parts, host, port)
        late = threading.Event()
        clock = threading.Timer(self.seconds, _cut, [line, late])
        clock.daemon = True
        clock.start()
        connection = HTTPConnection(host, parts.port or None, timeout=self.seconds)
        try:
            if isinstance(line, ssl.SSLSocket):
                line.do_handshake()
            connection.sock = line
            target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
            named = {"Host": parts.netloc, "User-Agent": "Evenbay", **headers}
            connection.request("POST", target, body, named, preload_content=False)
            answer = connection.getresponse()
            if late.is_set():  # a head that was cut off reads as if it had ended
                raise TimeoutError
            return int(answer.status), _later(answer.status, answer.headers.get("Retry-After"))
        finally:
            clock.cancel()
            line.close()
            connection.close()

    def _connect(self, parts: SplitResult, host: str, port: int) -> socket.socket:
        """Connect to the first address that answers, if every one may be sent to.

        Raises:
            Refused: One may not.
        """
        places = self.lookup(host, port, type=socket.SOCK_STREAM)
        addresses = [str(place[4][0]) for place in places]
        if not all(is_open(address, self.allowed) for address in addresses):
            raise Refused("Events are not sent to this address; it is not public.")
        if parts.scheme != "https" and not all(is_listed(a, self.allowed) for a in addresses):
            raise Refused("Events are sent by https only.")
        for last, address in enumerate(addresses, start=1):
            try:
                line = socket.create_connection((address, port), self.seconds / len(addresses))
            except OSError:
                if last == len(addresses):
                    raise
            else:
                line.settimeout(self.seconds)
                return self._secured(line, parts.scheme, host)
        raise Refused("Its name has no address.")

    def _secured(self, line: socket.socket, scheme: str, host: str) -> socket.socket:
        if scheme != "https":
            return line
        return self.tls.wrap_socket(line, server_hostname=host, do_handshake_on_connect=False)


def _later(status: int, written: str | None) -> timedelta | None:
    """Read how long an endpoint asks to be left alone, in seconds or until a date.

    Source: RFC 9110, sections 10.2.3 and 15.6.4; RFC 6585, section 4.
    """
    if status not in _MAY_ASK or written is None:
        return None
    try:
        seconds = Retry().parse_retry_after(written)
    except (InvalidHeader, ValueError, OverflowError):
        return None
    return timedelta(seconds=min(seconds, _MOST_SECONDS))


def _cut(line: socket.socket, late: threading.Event) -> None:
    """End whatever waits on a connection."""
    late.set()
    with suppress(OSError):
        # Not the method of an SSLSocket, which takes the session from under whoever reads.
        socket.socket.shutdown(line, socket.SHUT_RDWR)

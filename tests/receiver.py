"""A receiver of events on loopback that answers as it is told."""

import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass
class Receiver:
    """What came in, and what is answered.

    Attributes:
        answers: Statuses for the requests to come, one each; 200 afterwards.
        retry_after: What the header of this name says with every answer that is no 200, if any.
        got: Path, headers and body of every request.
        hold: Seconds that each request is kept waiting.
        trickles: Whether the answer comes a byte at a time, without end.
    """

    port: int = 0
    answers: list = field(default_factory=list)
    retry_after: str = ""
    got: list = field(default_factory=list)
    hold: float = 0.0
    trickles: bool = False

    @property
    def url(self):
        return f"http://127.0.0.1:{self.port}/hook"

    def ids(self):
        return [headers["webhook-id"] for _, headers, _ in self.got]


def _handler(told):
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            body = self.rfile.read(int(self.headers["Content-Length"]))
            told.got.append((self.path, dict(self.headers), body))
            time.sleep(told.hold)
            if told.trickles:
                self.trickle()
                return
            status = told.answers.pop(0) if told.answers else 200
            self.send_response(status)
            if 300 <= status < 400:
                self.send_header("Location", f"http://127.0.0.1:{told.port}/elsewhere")
            if status != 200 and told.retry_after:
                self.send_header("Retry-After", told.retry_after)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def trickle(self):
            try:
                self.wfile.write(b"HTTP/1.1 200 OK\r\n")
                while True:
                    self.wfile.write(b"X-More: 1\r\n")
                    self.wfile.flush()
                    time.sleep(0.05)
            except OSError:
                pass

        def log_message(self, *_):
            pass

    return Handler


class _Server(ThreadingHTTPServer):
    request_queue_size = 64  # as many as may be on their way at once; others would be lost
    daemon_threads = True


@contextmanager
def receiver(tls=None):
    """Run a receiver; with an SSLContext, over TLS."""
    told = Receiver()
    server = _Server(("127.0.0.1", 0), _handler(told))
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    server.handle_error = lambda *_: None
    told.port = server.server_port
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
        thread.join()

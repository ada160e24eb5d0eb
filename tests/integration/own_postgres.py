"""A PostgreSQL of a test's own, which it may stop and start; skipped where there is no program."""

import os
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

_BESIDE = sorted(Path("/usr/lib/postgresql").glob("*/bin"))  # where Debian keeps what it hides
INITDB, CONTROL = (
    shutil.which(name, path=os.pathsep.join([os.environ.get("PATH", ""), *map(str, _BESIDE)]))
    for name in ("initdb", "pg_ctl")
)
needs_postgres_programs = pytest.mark.skipif(
    not (INITDB and CONTROL), reason="initdb and pg_ctl are not installed"
)


@dataclass
class OwnPostgres:
    """A server on loopback whose data lie in a directory."""

    home: Path
    port: int

    @property
    def url(self):
        return f"postgresql+psycopg://postgres@127.0.0.1:{self.port}/postgres"

    def start(self):
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -k {self.home}"
        self._run(CONTROL, "start", "-w", "-l", self.home / "log", "-o", options)

    def crash(self):
        """End it without a shutdown: it recovers from its log at the next start."""
        self._run(CONTROL, "stop", "-m", "immediate")

    def create(self):
        self._run(INITDB, "-A", "trust", "-U", "postgres", "-N")

    def _run(self, *command):
        # The server does not run as root.
        who = {"user": "postgres", "group": "postgres"} if os.geteuid() == 0 else {}
        environ = os.environ | {"PGDATA": str(self.home / "data")}
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        subprocess.run(command, check=True, timeout=60, env=environ, cwd="/", **quiet, **who)


@contextmanager
def own_postgres():
    """Run one, gone again afterwards."""
    with tempfile.TemporaryDirectory() as name:
        if os.geteuid() == 0:
            shutil.chown(name, "postgres", "postgres")
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        server = OwnPostgres(Path(name), port)
        server.create()
        server.start()
        try:
            yield server
        finally:
            server.crash()

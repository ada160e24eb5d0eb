"""Run a command while the service runs on a fresh database: ``serve.py COMMAND ARGUMENT...``.

In the arguments {address} stands for the service's address; EVENBAY_KEY holds a key.
"""

import os
import subprocess
import sys
import tempfile

from tests.live import live, migrate, settings


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        environ = settings(f"sqlite:///{folder}/clients.db", workers=2)
        migrate(environ)
        with live(environ) as server:
            command = [argument.replace("{address}", server.url) for argument in sys.argv[1:]]
            return subprocess.run(
                command, env=os.environ | {"EVENBAY_KEY": server.key()}, check=False
            ).returncode


if __name__ == "__main__":
    sys.exit(main())

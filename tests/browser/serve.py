"""Run a command while the service runs with a stocked dealer: ``serve.py COMMAND ARGUMENT...``.

In the arguments {address} stands for the service's address; EVENBAY_KEY holds a publishable key
for pages from there, EVENBAY_OWN_KEY one of the dealer's own.
"""

import os
import subprocess
import sys
import tempfile

from service.adapters.storage.engine import connect
from tests.live import DEALER, live, migrate, settings
from tests.shop import stock


def publishable_key(environ: dict[str, str], origin: str) -> str:
    """Make a key for the pages of an origin, as an operator would."""
    command = [sys.executable, "-m", "service", "keys", "create", "--dealer", DEALER]
    command += ["--publishable", "--origin", origin]
    made = subprocess.run(command, env=environ, check=True, capture_output=True, text=True)
    return made.stdout.strip()


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/browser.db"
        environ = settings(url, workers=2)
        migrate(environ)
        engine = connect(url)
        stock(engine)
        engine.dispose()
        with live(environ) as server:
            command = [argument.replace("{address}", server.url) for argument in sys.argv[1:]]
            keys = {
                "EVENBAY_KEY": publishable_key(environ, server.url),
                "EVENBAY_OWN_KEY": server.key(),
            }
            return subprocess.run(command, env=os.environ | keys, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())

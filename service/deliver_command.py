"""The command that sends events, and the thread that does so within the web server."""

import argparse
import signal
import threading
from datetime import timedelta
from ipaddress import ip_network

from service.adapters.storage.engine import connect
from service.adapters.telemetry import logs
from service.adapters.webhooks.deliverer import Deliverer
from service.adapters.webhooks.post import Postman
from service.settings import Settings


def deliver(asked: argparse.Namespace, settings: Settings) -> int:
    """Send what is due once, or until the process is told to end."""
    logs.set_up(settings.log_format, settings.log_level)
    deliverer = open_deliverer(settings)
    try:
        if asked.once:
            print(f"{deliverer.once()} sent.")
        else:
            deliverer.run(_until_told())
    finally:
        deliverer.engine.dispose()
    return 0


def start_beside(settings: Settings) -> threading.Event:
    """Send events in a thread of this process; set what is given to end it."""
    stop = threading.Event()
    deliverer = open_deliverer(settings)
    threading.Thread(target=deliverer.run, args=[stop], name="deliverer", daemon=True).start()
    return stop


def open_deliverer(settings: Settings) -> Deliverer:
    """Build a deliverer with connections of its own."""
    allowed = tuple(ip_network(one) for one in settings.webhook_networks)
    keep = timedelta(days=settings.event_days)
    return Deliverer(connect(settings.database_url), Postman(allowed), keep)


def _until_told() -> threading.Event:
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    return stop

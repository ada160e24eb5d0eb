"""How gunicorn runs the service; every number can be set by the environment.

Threads keep slow senders from blocking a worker, and the bounds on a request keep any one of them
short, since a worker of threads is not stopped by the time-out.
"""

import os
import signal
from dataclasses import replace
from typing import Any

from service.adapters.telemetry import logs
from service.adapters.telemetry import workers as telemetry
from service.settings import from_environment

_settings = from_environment()
logs.set_up(_settings.log_format, _settings.log_level)
if _settings.metrics:
    telemetry.share_metrics()

wsgi_app = "service.wsgi:app"
bind = f"{_settings.host}:{_settings.port}"
worker_class = "gthread"
workers = _settings.workers
threads = _settings.threads
timeout = 30
graceful_timeout = 30
keepalive = 5
max_requests = 10_000
max_requests_jitter = 1_000
preload_app = True
control_socket_disable = True
loglevel = _settings.log_level.lower()
accesslog = None  # the application writes a line for each request, by template and not by path
logger_class = telemetry.log_of(_settings.log_format)


# A worker is born with the master's handlers, which would put a signal to end on a list that nobody
# reads; the master would then wait for that worker all of the time of grace.
_TO_END = (signal.SIGTERM, signal.SIGQUIT, signal.SIGINT)


def _heed() -> None:
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _TO_END)


def _end_if_told() -> None:
    for number in _TO_END:
        signal.signal(number, signal.SIG_DFL)
    _heed()


os.register_at_fork(
    before=lambda: signal.pthread_sigmask(signal.SIG_BLOCK, _TO_END),
    after_in_parent=_heed,
    after_in_child=_end_if_told,
)


def when_ready(server: Any) -> None:
    """Have re-pricing runs worked on in a process of their own, so that no answer waits."""
    if _settings.work:
        from service.work_command import start_beside

        server.beside = start_beside()


def post_fork(_server: Any, worker: Any) -> None:
    """Give each worker its own connections: those made before the fork must not be shared."""
    from service.wsgi import app

    here = app.extensions["evenbay"]
    here.engine.dispose(close=False)
    # A long stream ends between two lines when its worker is told to stop, or has served enough.
    app.extensions["evenbay"] = replace(here, leaving=lambda: not worker.alive)
    if _settings.deliver:
        from service.deliver_command import start_beside

        worker.deliverer = start_beside(_settings)


def worker_exit(_server: Any, worker: Any) -> None:
    """Let events be sent by those who stay; what was begun is sent again after its lease."""
    if hasattr(worker, "deliverer"):
        worker.deliverer.set()


def child_exit(_server: Any, worker: Any) -> None:
    """Let the metrics know that a worker is gone."""
    if _settings.metrics:
        telemetry.forget_worker(worker.pid)


def on_exit(server: Any) -> None:
    """End what stands beside, and leave no files of the metrics behind."""
    if hasattr(server, "beside"):
        server.beside.terminate()
    telemetry.drop_metrics()

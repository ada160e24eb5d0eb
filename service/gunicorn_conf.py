"""How gunicorn runs the service; every number can be set by the environment.

Threads keep slow senders from blocking a worker, and the bounds on a request keep any one of them
short, since a worker of threads is not stopped by the time-out.
"""

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


def post_fork(_server: Any, worker: Any) -> None:
    """Give each worker its own connections: those made before the fork must not be shared."""
    from service.wsgi import app

    app.extensions["evenbay"].engine.dispose(close=False)
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


def on_exit(_server: Any) -> None:
    """Leave no files of the metrics behind."""
    telemetry.drop_metrics()

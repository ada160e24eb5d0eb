"""What gunicorn needs for logs of one form and for metrics that add up over its workers."""

import logging
import os
import re
import shutil
import tempfile
from pathlib import Path
from typing import Any

from gunicorn.glogging import Logger

from service.adapters.telemetry.logs import OfRequest, formatter

DIRECTORY = "PROMETHEUS_MULTIPROC_DIR"
_READY = "EVENBAY_METRICS_READY"  # set for the processes below, so that a reload keeps counting
_OURS = "EVENBAY_METRICS_MADE"
_STRANGER = re.compile(r"Invalid request from ip=.*", re.DOTALL)
_HANDLED = re.compile(r"Error handling request .*", re.DOTALL)


class WorkerLog(Logger):  # type: ignore[misc]
    """gunicorn's own lines in the service's form; what a stranger sent is not repeated."""

    form = "json"

    def setup(self, cfg: Any) -> None:
        """Set up as gunicorn does, then in our form."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(formatter(self.form, cfg.loglevel.upper()))
            handler.addFilter(OfRequest())
            handler.addFilter(_leave_out)


def _leave_out(record: logging.LogRecord) -> bool:
    """Cut what came over the wire off a message: an address, a header, a path."""
    said = record.getMessage()
    if _STRANGER.match(said):
        record.msg, record.args = "A request was refused that is not HTTP, or too long.", ()
    elif _HANDLED.match(said):
        record.msg, record.args = "A request failed outside the application.", ()
    return True


def log_of(form: str) -> type[WorkerLog]:
    """Give the logger class of a format."""
    return type("WorkerLog", (WorkerLog,), {"form": form})


def share_metrics() -> None:
    """Make the directory by which workers add up, empty as long as this master has not begun.

    Must run before prometheus_client is imported.
    """
    if os.environ.get(_READY) == str(os.getpid()):
        return
    chosen = os.environ.get(DIRECTORY) or tempfile.mkdtemp(prefix="evenbay-metrics-")
    directory = Path(chosen)
    directory.mkdir(parents=True, exist_ok=True)
    for left_over in directory.glob("*.db"):
        left_over.unlink()
    if DIRECTORY not in os.environ:
        os.environ[_OURS] = chosen
    os.environ.update({DIRECTORY: chosen, _READY: str(os.getpid())})


def forget_worker(pid: int) -> None:
    """Drop what only counts while a worker lives; its counts stay."""
    from prometheus_client.multiprocess import mark_process_dead

    mark_process_dead(pid)  # type: ignore[no-untyped-call]


def drop_metrics() -> None:
    """Remove the directory when the master ends, unless an operator chose it."""
    made = os.environ.get(_OURS)
    if made and os.environ.get(_READY) == str(os.getpid()):
        shutil.rmtree(made, ignore_errors=True)

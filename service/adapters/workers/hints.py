"""Tells workers through a broker that a run waits for them; without one they look by themselves.

A hint that is lost, or comes twice, changes nothing: what is to be done stands in the database,
and the sweep hints again at whatever is left.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from functools import cache
from importlib.util import find_spec
from itertools import cycle, islice
from typing import Any

QUEUE = "evenbay"
WORK, SWEEP = "evenbay.work", "evenbay.sweep"
# Hints that wait for a free worker; more would only be found void once a run is done.
MOST_WAITING = 16
_TEN_MINUTES = 600  # many times what a task takes
# An AMQP broker that is full reads no more from who sends, and would keep him for as long. [s]
_PATIENCE = {"confirm_publish": True, "read_timeout": 2, "write_timeout": 2}
_log = logging.getLogger("service")

Which = tuple[str, str]  # dealer, id of a run
Hint = Callable[[str, str], None]
"""Takes dealer and id of a run."""


def conf_of(broker_url: str) -> dict[str, Any]:
    """Give Celery's settings: a hint is given back where its worker dies, and results to nobody.

    Redis takes a hint to be lost that nobody has confirmed after ten minutes, and looks for such
    ones at every turn. A broker that is away is waited for without end, and whoever only wants to
    tell it of a run gives up soon.
    """
    conf: dict[str, Any] = {
        "task_default_queue": QUEUE,
        "task_acks_late": True,
        "task_reject_on_worker_lost": True,
        "task_ignore_result": True,
        "worker_prefetch_multiplier": 1,
        "worker_cancel_long_running_tasks_on_connection_loss": False,
        "broker_connection_retry_on_startup": True,
        "broker_connection_max_retries": None,
        "broker_connection_timeout": 3,
        "broker_heartbeat": 30,
        "broker_pool_limit": None,
    }
    if broker_url.startswith("redis"):
        lost = {"visibility_timeout": _TEN_MINUTES, "unacked_restore_throttle": 1}
        waits = {"socket_connect_timeout": 3, "socket_timeout": 5}
        conf["broker_transport_options"] = lost | waits
    return conf


def hint_at(app: Any, runs: Sequence[Which]) -> int:
    """Hint at runs in turn until enough hints wait, at one at least; give how many were sent."""
    if not runs:
        return 0
    with app.connection_for_write(transport_options=_PATIENCE) as connection:
        connection.ensure_connection(max_retries=1, interval_start=0.2)
        waiting = app.amqp.queues[QUEUE].bind(connection.default_channel).queue_declare()
        missing: int = max(1, MOST_WAITING - waiting.message_count)
        for run in islice(cycle(runs), missing):
            app.send_task(WORK, run, connection=connection, retry=False)
    return missing


def no_hint(_dealer: str, _run_id: str) -> None:
    """Tell nobody."""


def open_hint(broker_url: str) -> Hint:
    """Give what tells workers of a run, without making anybody wait for the broker.

    Where it cannot, they find out by the sweep.

    Raises:
        ValueError: The extra "celery" is not installed.
    """
    if not broker_url:
        return no_hint
    if find_spec("celery") is None:
        raise ValueError("a broker is named; pip install 'evenbay[celery]' to send to it")

    @cache
    def sender() -> Any:
        from celery import Celery  # takes its time, and most requests never need it

        app = Celery("evenbay", broker=broker_url)
        app.conf.update(conf_of(broker_url))
        return app

    def tell(dealer: str, run_id: str) -> None:
        try:
            hint_at(sender(), [(dealer, run_id)])
        except Exception as error:
            _log.warning("the broker was not told of a run: %s", type(error).__name__)

    def hint(dealer: str, run_id: str) -> None:
        threading.Thread(target=tell, args=(dealer, run_id), name="hint", daemon=True).start()

    return hint

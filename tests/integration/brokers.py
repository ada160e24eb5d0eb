"""The brokers that workers are tested with: a Redis and a RabbitMQ for tests alone.

EVENBAY_TEST_REDIS_URL and EVENBAY_TEST_AMQP_URL name them; without them those tests are skipped.
Each test has a database of the Redis, or a virtual host of the RabbitMQ, to itself.
"""

import os
import shutil
import subprocess
import uuid
from contextlib import contextmanager

import pytest
from celery import Celery
from redis import Redis

from service.adapters.workers.hints import conf_of

REDIS = os.environ.get("EVENBAY_TEST_REDIS_URL", "")
AMQP = os.environ.get("EVENBAY_TEST_AMQP_URL", "")
CONTROL = shutil.which("rabbitmqctl")
BROKERS = (
    pytest.param(
        "redis", marks=pytest.mark.skipif(not REDIS, reason="EVENBAY_TEST_REDIS_URL is not set")
    ),
    pytest.param(
        "rabbitmq",
        marks=pytest.mark.skipif(
            not (AMQP and CONTROL), reason="EVENBAY_TEST_AMQP_URL is not set, or no rabbitmqctl"
        ),
    ),
)
_TAKEN = "evenbay tests: taken"
_OURS = (b"evenbay", b"_kombu", b"unacked")


@contextmanager
def broker(kind):
    """Give the URL of a broker that holds nothing, and nothing of it afterwards."""
    with _redis() if kind == "redis" else _rabbitmq() as url:
        yield url


@contextmanager
def _redis():
    server = REDIS.rpartition("/")[0]
    for number in range(1, 16):
        url = f"{server}/{number}"
        with Redis.from_url(url) as held:
            if _taken(held):
                try:
                    yield url
                finally:
                    held.flushdb()
                return
    raise RuntimeError("every database of the Redis is taken")


def _taken(held):
    """Take a database that is empty, or where a test was killed before it had cleared up."""
    if not held.set(_TAKEN, 1, nx=True, ex=300):
        return False
    others = [key for key in held.scan_iter() if key != _TAKEN.encode()]
    if all(key.startswith(_OURS) for key in others):
        for key in others:
            held.delete(key)
        return True
    held.delete(_TAKEN)
    return False


@contextmanager
def _rabbitmq():
    host = f"evenbay-{uuid.uuid4().hex[:12]}"
    rabbitmqctl("add_vhost", host)
    try:
        rabbitmqctl("set_permissions", "-p", host, "guest", ".*", ".*", ".*")
        yield AMQP.rstrip("/") + f"/{host}"
    finally:
        rabbitmqctl("delete_vhost", host)


def rabbitmqctl(*words, node=None):
    named = ["-n", node] if node else []
    subprocess.run([CONTROL, "-q", *named, *words], check=True, capture_output=True, timeout=60)


@contextmanager
def sender(url):
    """Give a Celery application that sends to a broker."""
    app = Celery("evenbay", broker=url, set_as_current=False)
    app.conf.update(conf_of(url))
    try:
        yield app
    finally:
        app.close()

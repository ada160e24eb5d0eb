"""What breaks while a run goes on: afterwards each quote is re-priced once, each event there once.

Every test starts the servers it breaks. Workers stop in a piece of work whose rows are written and
not yet kept, so that each fault strikes there, however busy the machine is.
"""

import os
import signal
import subprocess
from contextlib import ExitStack, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from kombu.exceptions import OperationalError
from redis import Redis
from redis.exceptions import RedisError

from service.adapters.workers.hints import MOST_WAITING, hint_at, open_hint
from tests.integration.brokers import BROKERS, broker, sender
from tests.integration.celery_workers import site, until
from tests.integration.databases import POSTGRES, url_of
from tests.integration.own_servers import (
    cluster,
    needs,
    needs_cluster,
    needs_rabbitmq,
    rabbitmq,
    redis,
    small_disk,
)

needs_postgres = pytest.mark.skipif(not POSTGRES, reason="EVENBAY_TEST_POSTGRES_URL is not set")
needs_redis = needs("redis-server")
OWN_BROKERS = (
    pytest.param("redis", marks=needs_redis),
    pytest.param("rabbitmq", marks=needs_rabbitmq),
)


@contextmanager
def own_broker(kind, folder):
    with redis() if kind == "redis" else rabbitmq(folder) as made:
        yield made


@pytest.fixture
def folder():
    """Give a folder that servers may pass through which run as somebody else.

    Pytest closes its own to others again whenever another of its sessions starts.
    """
    with TemporaryDirectory(prefix="evenbay-faults-", ignore_cleanup_errors=True) as made:
        Path(made).chmod(0o711)
        yield Path(made)


@needs_postgres
@pytest.mark.parametrize("kind", OWN_BROKERS)
def test_the_broker_is_restarted(kind, folder):
    with (
        url_of("postgresql", folder) as database,
        own_broker(kind, folder) as held,
        site(database, held.url(), folder) as place,
    ):
        swept = place.worker("-B", "-c", "1", evenbay_test_hold=place.hold, wait=False)
        other = place.worker(evenbay_test_hold=place.hold, wait=False)
        for worker in (swept, other):
            place.ready(worker)
        place.begin()
        place.held(2)
        held.restart()
        place.go()
        place.hold_each_once()
        # Workers take hints again: the next run is swept up, and finds nothing to change.
        before = place.everything()
        place.begin(hint=False)
        place.finished()
        assert [one for one in place.everything()[0] if one not in before[0]] == []


@needs_postgres
@needs_redis
def test_the_broker_is_gone_and_who_is_at_work_goes_on(folder):
    with (
        url_of("postgresql", folder) as database,
        redis() as held,
        site(database, held.url(), folder) as place,
    ):
        worker = place.worker(evenbay_test_hold=place.hold, evenbay_test_turn_seconds=0.05)
        place.begin()
        place.held()
        held.kill()
        place.go()
        place.hold_each_once()
        assert "the broker took no hint" in worker.log.read_text()


@needs_cluster()
@needs_redis
def test_postgresql_is_restarted(folder):
    with (
        cluster(folder / "postgresql") as server,
        redis() as held,
        site(server.url(), held.url(), folder) as place,
    ):
        place.worker("-B", "-c", "1", evenbay_test_hold=place.hold)
        place.begin()
        place.held()
        server.restart()
        place.go()
        run = place.hold_each_once()
        assert run.progress.failed == 0
        assert max(chunk.attempts for chunk in place.chunks()) > 1, "what it wrote was lost"


@needs_postgres
@needs("redis-server", "mount")
@pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount a small disk")
def test_the_disk_of_redis_is_full(folder):
    with ExitStack() as stack:
        database = stack.enter_context(url_of("postgresql", folder))
        disk = stack.enter_context(small_disk(folder / "disk"))
        held = stack.enter_context(redis("--save", "3600 1000000", "--dir", str(disk)))
        place = stack.enter_context(site(database, held.url(), folder))
        place.worker("-B", "-c", "1")
        (disk / "filler").write_bytes(b"\0" * (1 << 20))
        with Redis.from_url(held.url()) as client:
            client.bgsave()
            until(lambda: client.info("persistence")["rdb_last_bgsave_status"] == "err", "failure")
            with pytest.raises(RedisError, match="MISCONF"):
                client.set("key", "value")
        hint_is_refused(place)
        (disk / "filler").unlink()
        with Redis.from_url(held.url()) as client:
            client.bgsave()
        place.hold_each_once()


@needs_postgres
@needs_rabbitmq
def test_the_disk_of_rabbitmq_is_full(folder):
    with (
        url_of("postgresql", folder) as database,
        rabbitmq(folder) as held,
        site(database, held.url(), folder) as place,
    ):
        place.worker("-B", "-c", "1")
        held.control("set_disk_free_limit", "900000000000000")
        hint_is_refused(place)
        held.control("set_disk_free_limit", "1000000")
        place.hold_each_once()


def hint_is_refused(place):
    """Begin a run that the broker takes no hint of."""
    place.begin(hint=False)
    with sender(place.broker) as app, pytest.raises(OperationalError):
        hint_at(app, [(place.shop.books.dealer, place.run.id)])
    open_hint(place.broker)(place.shop.books.dealer, place.run.id)  # only says so in the log


@needs_postgres
@pytest.mark.parametrize("kind", BROKERS)
def test_hints_come_twice_and_to_several_at_once(kind, folder):
    with (
        url_of("postgresql", folder) as database,
        broker(kind) as url,
        site(database, url, folder) as place,
    ):
        place.begin(hint=False)
        with sender(url) as app:
            for _ in range(MOST_WAITING):
                for number in range(2):
                    app.send_task(
                        "evenbay.work",
                        (place.shop.books.dealer, place.run.id),
                        task_id=f"hint {number}",
                    )
        place.worker(wait=False)
        place.worker(wait=False)
        place.hold_each_once()
        until(lambda: place.waiting() == 0, "end of the hints")
        place.hold_each_once()


@needs_postgres
@needs_redis
def test_clocks_of_workers_are_a_day_ahead_and_behind(folder):
    """Leases go by the database's clock: nobody takes over what another is at."""
    with (
        url_of("postgresql", folder) as database,
        redis() as held,
        site(database, held.url(), folder) as place,
    ):
        shifted = [
            place.worker(
                evenbay_test_hold=place.hold,
                evenbay_test_clock_shift=days * 86_400,
                evenbay_run_lease_seconds=60,
                wait=False,
            )
            for days in (1, -1)
        ]
        place.begin()
        assert set(place.held(2)) == {worker.pid for worker in shifted}
        place.go()
        place.hold_each_once()
        assert {chunk.attempts for chunk in place.chunks()} == {1}


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may make network namespaces")
@needs("ip", "redis-server")
@needs_cluster()
def test_a_host_is_cut_off_and_another_killed_amid_a_run(folder):
    with ExitStack() as stack:
        server = stack.enter_context(cluster(folder / "postgresql"))
        held = stack.enter_context(redis())
        place = stack.enter_context(site(server.url(), held.url(), folder, quotes=50))
        hosts = [stack.enter_context(host(number)) for number in range(2)]
        cut_off, killed = (
            place.worker(
                before=one.inside,
                wait=False,
                evenbay_test_hold=place.hold,
                evenbay_database_url=server.url(one.gateway),
                evenbay_broker_url=held.url(one.gateway),
            )
            for one in hosts
        )
        for worker in (cut_off, killed):
            place.ready(worker)
        place.begin()
        assert set(place.held(2)) == {cut_off.pid, killed.pid}
        for one in hosts:
            one.cut()
        os.kill(killed.pid, signal.SIGKILL)
        place.worker("-B", "-c", "1")
        place.hold_each_once()
        assert sum(chunk.attempts > 1 for chunk in place.chunks()) >= 2, "both were taken over"
        before = place.everything()
        for one in hosts:
            one.join()
        place.go()  # it comes back, and wants to keep what it wrote
        until(lambda: "database is away" in cut_off.log.read_text(), "word of who came back")
        place.hold_each_once()
        assert place.everything() == before
        assert cut_off.poll() is None


class Host:
    """A network namespace with a wire to this machine."""

    def __init__(self, number):
        unique = f"{os.getpid() % 100_000}{number}"
        self.name, self.wire = f"evb{unique}", f"evw{unique}"
        network = f"10.{100 + os.getpid() % 100}.{os.getpid() // 100 % 250}.{number * 4}"
        lead, _, last = network.rpartition(".")
        self.gateway, self.address = f"{lead}.{int(last) + 1}", f"{lead}.{int(last) + 2}"
        self.inside = ("ip", "netns", "exec", self.name)

    def build(self):
        ip("netns", "add", self.name)
        ip("link", "add", self.wire, "type", "veth", "peer", "name", "eth0", "netns", self.name)
        ip("addr", "add", f"{self.gateway}/30", "dev", self.wire)
        ip("-n", self.name, "addr", "add", f"{self.address}/30", "dev", "eth0")
        self.join()
        ip("-n", self.name, "link", "set", "lo", "up")
        ip("-n", self.name, "link", "set", "eth0", "up")

    def cut(self):
        ip("link", "set", self.wire, "down")

    def join(self):
        ip("link", "set", self.wire, "up")


@contextmanager
def host(number):
    made = Host(number)
    try:
        made.build()
        yield made
    finally:
        subprocess.run(["ip", "netns", "del", made.name], check=False, capture_output=True)
        subprocess.run(["ip", "link", "del", made.wire], check=False, capture_output=True)


def ip(*words):
    subprocess.run(["ip", *words], check=True, capture_output=True)

"""What it takes to place, claim, note and read events, by how many wait.

    python -m tests.benchmarks.bench_events [--waiting 1000 100000]

On a fresh SQLite file, and on PostgreSQL where EVENBAY_TEST_POSTGRES_URL is set. Every third
subject has a second event that waits for its first. "refused" is after each waiting event was
refused once, so that none is due; "amid" after half of them were. Only the ratios within one run
mean anything.
"""

import argparse
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter
from typing import Any

from sqlalchemy import Engine, update

from service.adapters.storage import migrate
from service.adapters.storage.books import Books
from service.adapters.storage.cloud_events import cloud_event
from service.adapters.storage.deliveries import SqlRound
from service.adapters.storage.engine import connect
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.ids import Ids
from service.adapters.storage.rounds import dealers_with_news, webhooks_due
from service.adapters.storage.tables import deliveries, events
from service.adapters.storage.webhooks import SqlWebhooks
from service.usecases.events import DeliveryState, EventType, Receipt, WebhookWish
from tests.integration.databases import POSTGRES, url_of
from tests.serving import books_of

LEASE = timedelta(seconds=60)
AT = datetime(2026, 11, 25, 2, 0, tzinfo=UTC)
HOOK = "00000000-0000-4000-8000-00000000000a"
EVENT = ("id", "entered", "at", "type", "subject", "body")
Spent = dict[str, float]


def told(books: Books, count: int) -> list[dict[str, Any]]:
    """Give rows of events as a re-pricing run writes them."""
    rows, ids = [], Ids(AT).take(count)
    for number in range(count):
        subject = f"quote-{number - number % 3 // 2}"
        kind = EventType.QUOTE_ISSUED if number % 3 == 2 else EventType.QUOTE_REPRICED
        event_id = ids[number]
        body = cloud_event(event_id, books.dealer, kind, AT, subject, {"total_after": "1.00"})
        row = (event_id, number // 10_000, AT, kind.value, subject, body)
        rows.append(dict(zip(EVENT, row, strict=True)))
    return rows


def place(feed: SqlEvents) -> None:
    """Place all."""
    while feed.place():
        pass


def timed(work: Callable[[], Any], times: int = 1) -> float:
    """Give milliseconds for one time."""
    began = perf_counter()
    for _ in range(times):
        work()
    return (perf_counter() - began) * 1000 / times


def measure(engine: Engine, waiting: int) -> Spent:
    """Do all that is done with events, and give milliseconds."""
    books = books_of(engine)
    feed, rounds, hooks = SqlEvents(books), SqlRound(books), SqlWebhooks(books)
    hooks.add(HOOK, WebhookWish("https://crm.example/hooks", tuple(EventType)), AT)
    with books.writing() as connection:
        books.insert(connection, events, told(books, waiting))
    spent = {"listeners": timed(lambda: dealers_with_news(engine), 5)}
    spent["place 1000"] = timed(lambda: place(feed)) / waiting * 1000
    now = AT + timedelta(seconds=1)

    def send(receipt: Receipt, wait: timedelta | None) -> None:
        for parcel in rounds.claim(HOOK, now, LEASE, 2):
            rounds.note(parcel, receipt, now, wait)

    spent["due"] = timed(lambda: webhooks_due(engine, now), 20)
    spent["claim, taken"] = timed(lambda: send(Receipt(200), None), 100)
    spent["claim, failed"] = timed(lambda: send(Receipt(500, "no"), timedelta(hours=1)), 100)
    spent["feed, last page"] = timed(lambda: feed.page(waiting - 100, 100), 20)
    spent["dead letters"] = timed(lambda: hooks.deliveries(HOOK, DeliveryState.DEAD, None, 50), 20)
    later = {"attempts": 1, "next_at": now + timedelta(hours=1)}
    for name, some in (
        ("amid", deliveries.c.position <= waiting // 2),
        ("refused", deliveries.c.state == "waiting"),
    ):
        with engine.begin() as connection:
            connection.execute(update(deliveries).where(some).values(later))
        spent[f"due, {name}"] = timed(lambda: webhooks_due(engine, now), 20)
        spent[f"claim, {name}"] = timed(lambda: rounds.claim(HOOK, now, LEASE, 2), 20)
    with engine.begin() as connection:
        connection.execute(update(deliveries).values(state="delivered"))
    spent["due, taken"] = timed(lambda: webhooks_due(engine, now), 20)
    spent["dead letters, taken"] = timed(
        lambda: hooks.deliveries(HOOK, DeliveryState.DEAD, None, 50), 20
    )
    return spent


def compare(store: str, sizes: list[int]) -> None:
    """Print milliseconds by how many wait, and what the most cost over the fewest."""
    found: list[Spent] = []
    for waiting in sizes:
        with tempfile.TemporaryDirectory() as name, url_of(store, Path(name)) as url:
            engine = connect(url)
            migrate.upgrade(engine)
            found.append(measure(engine, waiting))
            engine.dispose()
    print(store, *sizes, "ratio", sep="\t")
    for name in found[0]:
        spent = [f"{one[name]:.2f}" for one in found]
        print(f"{name:20}", *spent, f"{found[-1][name] / found[0][name]:.1f}", sep="\t")


def main() -> None:
    """Run."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--waiting", type=int, nargs="+", default=[1000, 100_000])
    asked = parser.parse_args()
    for store in ("sqlite", "postgresql") if POSTGRES else ("sqlite",):
        compare(store, asked.waiting)


if __name__ == "__main__":
    main()

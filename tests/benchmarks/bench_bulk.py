"""Quotes per second sent as lines of one request, beside as many requests of one quote.

    python -m tests.benchmarks.bench_bulk [--quotes 100] [--rounds 4]

One worker of the service runs on a fresh SQLite file (and once more on PostgreSQL where
EVENBAY_TEST_POSTGRES_URL is set). One sender sends the demo order in every way by turns: alone, on
one connection that is kept; as lines with Content-Length, with whole answers and with short ones.
Only the ratios within one run mean anything.
"""

import argparse
import http.client
import tempfile
from collections import defaultdict
from pathlib import Path
from time import perf_counter

import orjson

from service.api.examples import example_request
from tests.benchmarks.bench_load import processor_time
from tests.integration.databases import POSTGRES, url_of
from tests.live import HOST, Live, live, migrate, settings

ORDER = orjson.dumps(example_request("quote"))
WAYS = ("alone", "lines", "lines, short answers")


def send(server: Live, key: str, way: str, quotes: int) -> None:
    """Send the order so many times in one way; every answer has to be a quote."""
    connection = http.client.HTTPConnection(HOST, server.port, timeout=120)
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    if way == "alone":
        for _ in range(quotes):
            connection.request("POST", "/v1/quotes", ORDER, headers)
            answer = connection.getresponse()
            answer.read()
            if answer.status != 201:
                raise RuntimeError(f"{way}: {answer.status}")
    else:
        headers["Content-Type"] = "application/x-ndjson"
        if "short" in way:
            headers["Prefer"] = "return=minimal"
        connection.request("POST", "/v1/quotes/bulk", (ORDER + b"\n") * quotes, headers)
        made = sum(b'"status":201' in line for line in connection.getresponse())
        if made != quotes:
            raise RuntimeError(f"{way}: {made} of {quotes}")
    connection.close()


def compare(store: str, quotes: int, rounds: int) -> None:
    """Print what each way takes for one quote, and that over what it takes alone."""
    with tempfile.TemporaryDirectory() as name, url_of(store, Path(name)) as url:
        environ = settings(url, workers=1, deliver="off")
        migrate(environ)
        spent: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
        with live(environ) as server:
            key = server.key()
            for way in WAYS:
                send(server, key, way, 10)
            for _ in range(rounds):
                for way in WAYS:
                    worked, start = processor_time(server), perf_counter()
                    send(server, key, way, quotes)
                    spent[way].append((perf_counter() - start, processor_time(server) - worked))
    print(f"{store}: {rounds} rounds of {quotes} quotes each way; the best of each")
    for way in WAYS:
        seconds, worked = (min(column) for column in zip(*spent[way], strict=True))
        alone = [min(column) for column in zip(*spent["alone"], strict=True)]
        print(
            f"  {way:21} {quotes / seconds:6.1f} per second, "
            f"{worked / quotes * 1000:.2f} ms of processor each; "
            f"{alone[0] / seconds:.2f} times the rate, {worked / alone[1]:.2f} of the processor"
        )


def main() -> None:
    """Compare on every store there is."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quotes", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=4)
    asked = parser.parse_args()
    for store in ("sqlite", "postgresql") if POSTGRES else ("sqlite",):
        compare(store, asked.quotes, asked.rounds)


if __name__ == "__main__":
    main()

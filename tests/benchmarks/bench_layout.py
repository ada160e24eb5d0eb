"""How the layout grows with the deck: ratios within one run, printed.

    python -m tests.benchmarks.bench_layout

1. Layout time for decks of 4 to 4,000 edges, per edge and against n log n. Goal: no worse.
2. Layout time against parsing the same request (orjson and marshmallow), on the demo deck.
"""

import math
from pathlib import Path
from time import perf_counter

import orjson

from service.api.schemas.requests import LAYOUT_REQUEST
from service.domain.layout.deck import Deck, Edge, EdgeKind, Level
from service.domain.layout.lay_out import lay_out
from service.domain.lengths import FOOT, inches
from tests.unit.domain.layout.builders import SYSTEM

REQUEST = Path(__file__).parents[2] / "openapi" / "examples" / "layout-request.json"


def round_deck(edges: int) -> Deck:
    """A regular polygon whose edges are about 8 ft long, every tenth one a wall."""
    radius = edges * 8 * FOOT / math.tau
    corners = tuple(
        (
            round(radius * math.cos(math.tau * i / edges)),
            round(radius * math.sin(math.tau * i / edges)),
        )
        for i in range(edges)
    )
    kinds = [EdgeKind.WALL if i % 10 == 3 else EdgeKind.OPEN for i in range(edges)]
    sides = tuple(Edge(kind, i, inches(40)) for i, kind in enumerate(kinds, 1))
    return Deck((Level("round", corners, sides),))


def seconds_of(deck: Deck, rounds: int) -> float:
    times = []
    for _ in range(rounds):
        start = perf_counter()
        lay_out(deck, SYSTEM)
        times.append(perf_counter() - start)
    return min(times)


def main() -> None:
    base = None
    for edges in (4, 40, 400, 4000):
        seconds = seconds_of(round_deck(edges), max(2, 400 // edges))
        growth = seconds / (edges * math.log(edges))
        base = base or growth
        print(f"{edges:5} edges: {growth / base:5.2f} x the n log n growth from 4 edges")
    content = orjson.loads(REQUEST.read_bytes())
    body = REQUEST.read_bytes()
    order = LAYOUT_REQUEST.load(content)
    lay, parse = [], []
    for _ in range(200):
        start = perf_counter()
        LAYOUT_REQUEST.load(orjson.loads(body))
        parse.append(perf_counter() - start)
        start = perf_counter()
        lay_out(order.deck, order.system, order.preference)
        lay.append(perf_counter() - start)
    print(f"layout / parsing the same request: {min(lay) / min(parse):.2f}")


if __name__ == "__main__":
    main()

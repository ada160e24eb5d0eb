"""Reads the published instances as cut demands: a bin is a bar, an item a piece, no kerf."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from service.domain.cutting.demand import CutDemand, Piece, StockLength

FOLDER = Path(__file__).parent

# How many instances each file holds, counted when they were copied in.
HELD = {
    "ai_ani_sample": 12,
    "falkenauer_t": 40,
    "falkenauer_u": 40,
    "hard28": 14,
    "random_sample": 48,
    "scholl1_sample": 36,
    "scholl2_sample": 24,
    "scholl3_hard": 5,
    "schwerin_sample": 20,
    "vsbpp_hs_sample": 27,
    "vsbpp_monaci": 25,
    "waescher": 9,
}


@dataclass(frozen=True)
class Instance:
    """One published instance; the optimum is None where none is given."""

    name: str
    demand: CutDemand
    optimum: int | None


@cache
def instances(name: str) -> tuple[Instance, ...]:
    """Read one set, such as ``instances("falkenauer_u")``."""
    lines = (FOLDER / f"{name}.txt").read_text().splitlines()
    records: list[list[list[str]]] = []
    for line in lines:
        fields = line.split()
        if fields[0] == ">":
            records.append([])
        if fields[0] != "#":
            records[-1].append(fields)
    return tuple(_instance(record) for record in records)


def _instance(record: list[list[str]]) -> Instance:
    _, name, *numbers = record[0]
    bars = [(int(row[1]), int(row[2])) for row in record[1:] if row[0] == "B"]
    if not bars:
        bars = [(int(numbers[0]), 1)]
    items = [(int(row[0]), int(row[1])) for row in record[1:] if row[0] != "B"]
    assert len(items) == int(numbers[1])
    assert sum(count for _, count in items) == int(numbers[2])
    pieces = tuple(
        Piece(f"{length}.{number}", str(length), length)
        for length, count in items
        for number in range(count)
    )
    stocks = tuple(StockLength(f"B{length}", length, Decimal(cost)) for length, cost in bars)
    optimum = None if numbers[3] == "?" else int(numbers[3])
    return Instance(name, CutDemand(name, pieces, stocks, kerf_nm=0), optimum)

"""Wishes and tallies of runs as they are kept: JSON, decimals as text."""

from collections import Counter
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any

import orjson

from service.domain.pricing.life import State
from service.usecases.repricing.records import (
    Mode,
    Outcome,
    Revisions,
    RunPrices,
    RunWish,
    Thresholds,
    Which,
)
from service.usecases.repricing.tallies import Tallies


def write_wish(wish: RunWish, prices: RunPrices) -> str:
    """Give the text that is kept of what was asked for, and of what it was found to mean."""
    kept = asdict(wish)
    kept["which"]["states"] = sorted(wish.which.states)
    return orjson.dumps({**kept, "prices": asdict(prices)}, default=str).decode()


def read_wish(text: str) -> tuple[RunWish, RunPrices]:
    """Read what was kept."""
    kept = orjson.loads(text)
    which, limits = kept["which"], kept["thresholds"]
    wish = RunWish(
        price_table=kept["price_table"],
        on=date.fromisoformat(kept["on"]),
        version=kept["version"],
        mode=Mode(kept["mode"]),
        which=Which(
            **{
                **which,
                "states": frozenset(map(State, which["states"])),
                "made_from": _day(which["made_from"]),
                "made_to": _day(which["made_to"]),
            }
        ),
        thresholds=Thresholds(
            **{name: None if text is None else Decimal(text) for name, text in limits.items()}
        ),
        revisions=Revisions(kept["revisions"]),
        dry_run=kept["dry_run"],
        note=kept["note"],
    )
    return wish, RunPrices(**kept["prices"])


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def write_tallies(tallies: Tallies) -> str:
    """Give the text that is kept of tallies."""
    return orjson.dumps(
        {
            "outcomes": {outcome.value: n for outcome, n in tallies.outcomes.items()},
            "before": tallies.before,
            "after": tallies.after,
            "under_floor": tallies.under_floor,
            "parts": [
                [*part, change, tallies.part_quotes[part]] for part, change in tallies.parts.items()
            ],
            "without_price": dict(tallies.without_price),
        }
    ).decode()


def read_tallies(text: str) -> Tallies:
    """Read tallies that were kept; "" are none."""
    if not text:
        return Tallies()
    kept: dict[str, Any] = orjson.loads(text)
    parts = [(tuple(part), change, n) for *part, change, n in kept["parts"]]
    return Tallies(
        outcomes=Counter({Outcome(name): n for name, n in kept["outcomes"].items()}),
        before=kept["before"],
        after=kept["after"],
        under_floor=kept["under_floor"],
        parts=Counter({part: change for part, change, _ in parts}),
        part_quotes=Counter({part: n for part, _, n in parts}),
        without_price=Counter(kept["without_price"]),
    )

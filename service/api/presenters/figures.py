"""What an answered quote is compared by, and how two of them differ."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

import orjson

from service.api.presenters.values import Json, decimal, money
from service.domain.lengths import MILLIMETRE
from service.domain.money import Money
from service.domain.pricing.changes import Changes, FiguredLine, Figures
from service.usecases.recompute_quote import Recomputed


def figures_of(answer: bytes) -> Figures:
    """Read what a quote is compared by from its answer, of this version or an older one."""
    return figures_in(orjson.loads(answer))


def figures_in(quote: Mapping[str, Any]) -> Figures:
    """Give what a quote is compared by, from what its answer says."""
    totals = quote["totals"]
    return Figures(
        currency=quote["price_table"]["currency"],
        lines=tuple(_line(line) for line in quote["lines"]),
        totals={name: _amount(sum_) for name, sum_ in totals.items() if isinstance(sum_, dict)},
        facts=dict(_facts(quote)),
    )


def _amount(sum_: Mapping[str, str]) -> Decimal:
    return Decimal(sum_["amount"])


def _line(line: Mapping[str, Any]) -> FiguredLine:
    return FiguredLine(
        kind=line["kind"],
        sku=line["sku"],
        description=line["description"],
        length=line["length"]["text"] if line["length"] else "",
        length_nm=round(line["length"]["mm"] * MILLIMETRE) if line["length"] else None,
        quantity=Decimal(line["quantity"]),
        unit_of_measure=line["unit_of_measure"],
        unit_price=_amount(line["unit_price"]),
        net=_amount(line["net"]),
    )


def _facts(quote: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Give what people ask about first when a quote changes."""
    layout = quote["layout"]
    yield "reference", quote["reference"]
    yield "valid until", quote["valid_until"] or ""
    yield "price table", quote["price_table"]["name"]
    for tax in quote["totals"]["taxes"]:
        yield f"tax {tax['name']}", tax["rate"]
    yield "posts", str(len(layout["posts"]))
    yield "sections", str(len(layout["sections"]))
    for clause in quote["compliance"]["findings"]:
        if clause["outcome"] == "not_met":
            yield f"not met: {clause['section']}, {clause['element']}", "not met"


def present_changes(before: str, after: str, changes: Changes, currency: str) -> Json:
    """Give the difference of two quotes."""
    return {"before": before, "after": after, **present_differences(changes, currency)}


def present_differences(changes: Changes, currency: str) -> Json:
    """Give what is different, in words and numbers."""

    def amount(value: Decimal | None) -> Json | None:
        return None if value is None else money(Money(value, currency))

    def side(line: FiguredLine | None) -> Json | None:
        if line is None:
            return None
        return {
            "quantity": decimal(line.quantity),
            "unit_of_measure": line.unit_of_measure,
            "unit_price": amount(line.unit_price),
            "net": amount(line.net),
        }

    return {
        "words": list(changes.words),
        "totals": [
            {"name": one.name, "before": amount(one.before), "after": amount(one.after)}
            for one in changes.totals
        ],
        "lines": [
            {
                "name": one.line.name,
                "sku": one.line.sku,
                "before": side(one.before),
                "after": side(one.after),
                "net": amount(one.net),
            }
            for one in changes.lines
        ],
        "facts": [
            {"name": one.name, "before": one.before, "after": one.after} for one in changes.facts
        ],
    }


def present_recomputed(done: Recomputed, kept_version: str, version: str) -> Json:
    """Give a quote beside itself, computed again."""
    return {
        "quote": done.quote_id,
        "same": done.same,
        "on": done.on.isoformat(),
        "service_version": {"kept": kept_version, "now": version},
        "gross": {
            "kept": money(Money(done.kept.totals["gross"], done.kept.currency)),
            "now": money(Money(done.now.totals["gross"], done.now.currency)),
        },
        "changes": present_changes(done.quote_id, done.quote_id, done.changes, done.now.currency),
    }

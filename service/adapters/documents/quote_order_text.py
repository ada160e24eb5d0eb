"""What is ordered, in plain text: the cut plans with what they leave, and what is shipped."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from service.adapters.documents.columns import heading, paragraph
from service.adapters.documents.quote_layout_text import some

Json = Mapping[str, Any]

_GOALS = {
    "cost": "cheapest",
    "bars": "fewest bars",
    "remnant": "longest remnant",
    "set_ups": "fewest set-ups",
}


def cut_plan_lines(plans: Sequence[Json], money: Json) -> Iterator[str]:
    """Write the cut plans, each bar with its cuts and what it leaves.

    Args:
        plans: Cut plans of the quote.
        money: An amount of the quote, for its currency and decimals.
    """
    if plans:
        yield from heading("CUT PLAN")
    for plan in plans:
        used = f"{Decimal(plan['yield']) * 100:.1f} % used"
        bars = some(len(plan["bars"]), "bar")
        cost = plan["method"]  # of an order that was priced again: as quoted on which day
        if plan["cost"] is not None:
            cost = f"{_cost(plan['cost'], plan, money)} ({_proof(plan, money)})"
        yield from paragraph(f"{plan['material']}: {bars}, {cost}, {used}", 2, "")
        for number, bar in enumerate(plan["bars"], start=1):
            yield from paragraph(_bar(bar), 6, f"{number}  ")


def shipping_lines(shipping: Json) -> Iterator[str]:
    """Write what the order weighs, its longest package, and what those figures leave out."""
    figures = [
        ("Weight", shipping["weight"]),
        (f"longest package ({shipping['longest_sku']})", shipping["longest_package"]),
    ]
    said = [f"{what} {figure['text']}" for what, figure in figures if figure]
    if shipping["packages"] is not None:
        said.append(some(shipping["packages"], "package"))
    if said or shipping["notes"]:
        yield from heading("SHIPPING")
    if said:
        yield from paragraph("; ".join(said) + ".", 2, "")
    for note in shipping["notes"]:
        yield from paragraph(note, 2, "")


def _proof(plan: Json, money: Json) -> str:
    if not plan["proven_optimal"]:
        return f"no plan costs below {_cost(plan['lower_bound'], plan, money)}"
    return "proven " + ", ".join(_GOALS[goal] for goal in plan.get("proven") or ("cost",))


def _cost(amount: str, plan: Json, money: Json) -> str:
    """Write a plan's cost with the decimals of the quote's totals, or as a length."""
    if plan["cost_is_length"]:
        return f"{amount} mm"
    places = len(money["amount"].partition(".")[2])
    return f"{Decimal(amount):.{places}f} {money['currency']}"


def _bar(bar: Json) -> str:
    source = " (offcut on hand)" if bar["offcut"] else ""
    pieces = []
    for cut in bar["cuts"]:
        first = cut["first_picket"]
        place = f" from picket {first}" if first is not None else ""
        pieces.append(f"{cut['piece']} {cut['length']['text']}{place}")
    shared = f"; slanted cuts shared, {bar['shared']['text']} saved" if bar["shared"]["mm"] else ""
    return (
        f"{bar['sku']} {bar['length']['text']}{source}: {' | '.join(pieces)}{shared}; {_left(bar)}"
    )


def _left(bar: Json) -> str:
    kept = bar["reusable"]
    if kept is None:
        return f"left {bar['remnant']['text']}"
    first = kept["first_picket"]
    place = f", first picket {first['text']} from its start" if first else ""
    return f"keep {kept['length']['text']} as {kept['name']}{place}"

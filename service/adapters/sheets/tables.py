"""A stored quote as tables of plain cells, which CSV and XLSX write alike.

A cell is a text, a whole number, an exact decimal, or None where there is nothing. Lengths stand
twice, as exact millimetres and as people read them.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from service.domain.pricing.units import UNITS_OF_MEASURE
from service.spoken_lengths import in_units

Json = Mapping[str, Any]
_SEPARATOR = "; "
_READ = {
    "C62": "each",
    "MIN": "minute",
}  # Recommendation 20 calls them one and minute [unit of time]
Cell = str | int | Decimal | None


@dataclass(frozen=True, slots=True)
class Table:
    """A heading and rows as long as it is.

    Attributes:
        name: What it holds, in words.
        columns: Names of the columns, in lower case with underscores.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


LINES = (
    "number kind sku description category length length_mm quantity unit_of_measure unit "
    "unit_price amount discount net tax_class tax gross currency elements"
).split()
ESTIMATE = "kind number description length length_mm quantity unit amount currency".split()
TAKEOFF = (
    "kind sku description category needed waste ordered unit_of_measure unit pack_size length "
    "length_mm weight_kg elements"
).split()
CUTS = (
    "material bar sku offcut bar_length bar_length_mm cut piece from_start_mm length length_mm "
    "saw_deg first_picket pickets remnant_mm"
).split()
FINDINGS = (
    "outcome section clause element measured measured_value unit compare limit limit_value "
    "upper_limit_value margin_value rule note amended from_memory source"
).split()


def number(value: object) -> Decimal:
    """Read a number of the answer exactly as it is printed there.

    Example:
        >>> number("118.90"), number(1154.1125)
        (Decimal('118.90'), Decimal('1154.1125'))
    """
    return Decimal(str(value))


def lines_table(quote: Json) -> Table:
    """Give the priced lines."""
    return _table("Quote lines", LINES, map(_line, quote["lines"]))


def _line(line: Json) -> dict[str, Cell]:
    return {
        **{key: line[key] for key in ("number", "kind", "sku", "description", "category")},
        **_length("length", line["length"]),
        "quantity": number(line["quantity"]),
        **_unit(line["unit_of_measure"]),
        **{key: _money(line.get(key)) for key in ("unit_price", "amount", "net", "tax", "gross")},
        "discount": discount_of(line),
        "tax_class": line.get("tax_class"),
        "currency": line["net"]["currency"],
        "elements": _SEPARATOR.join(line["elements"]),
    }


def estimate_table(estimate: Json) -> Table:
    """Give the lines of an estimate, its totals below them, and what they leave out."""
    totals = estimate["totals"]
    sums = [("net", "", totals["net"])]
    sums += [("tax", tax["name"], tax["amount"]) for tax in totals["taxes"]]
    sums += [("gross", "", totals["gross"])]
    records: list[dict[str, Cell]] = [
        *map(_estimate_line, estimate["lines"]),
        *({"kind": kind, "description": name, **_sum(money)} for kind, name, money in sums),
        *({"kind": "condition", "description": told} for told in estimate["conditions"]),
        *({"kind": "caution", "description": told} for told in estimate["cautions"]),
    ]
    return _table("Estimate", ESTIMATE, records)


def _estimate_line(line: Json) -> dict[str, Cell]:
    return {
        **{key: line[key] for key in ("kind", "number", "description")},
        **_length("length", line["length"]),
        "quantity": number(line["quantity"]),
        "unit": _unit(line["unit_of_measure"])["unit"],
        **_sum(line["net"]),
    }


def _sum(money: Json) -> dict[str, Cell]:
    return {"amount": _money(money), "currency": money["currency"]}


def discount_of(line: Json) -> Decimal | None:
    """Give what is taken off a line, None where nothing is."""
    found = [number(off["amount"]["amount"]) for off in line.get("discounts", ())]
    return sum(found[1:], found[0]) if found else None


def _money(money: Json | None) -> Decimal | None:
    return None if money is None else number(money["amount"])


def takeoff_table(quote: Json) -> Table:
    """Give parts and hours, as far as they are needed and ordered."""
    takeoff = quote["takeoff"]
    parts = [*map(_item, takeoff["items"]), *map(_task, takeoff["labour"])]
    return _table("Take-off", TAKEOFF, parts)


def _item(item: Json) -> dict[str, Cell]:
    weight = item["weight"]
    return {
        "kind": "goods",
        **{key: item[key] for key in ("sku", "description", "category", "pack_size")},
        **{key: number(item[key]) for key in ("needed", "waste", "ordered")},
        **_unit(item["unit_of_measure"]),
        **_length("length", item["length"]),
        "weight_kg": number(weight["kg"]) if weight else None,
        "elements": _SEPARATOR.join(item["elements"]),
    }


def _task(task: Json) -> dict[str, Cell]:
    hours = number(task["hours"])
    return {
        "kind": "labour",
        "description": task["task"],
        "category": "labour",
        "needed": hours,
        "ordered": hours,
        **_unit("HUR"),
        "elements": _SEPARATOR.join(task["elements"]),
    }


def cuts_table(quote: Json) -> Table:
    """Give every cut of every bar, in the order they are sawn."""
    rails = {rail["name"]: rail for rail in _rails(quote["layout"])}
    cuts = [
        _cut(plan, at, bar, place, cut, rails.get(cut["piece"], {}))
        for plan in quote["cut_plans"]
        for at, bar in enumerate(plan["bars"], start=1)
        for place, cut in enumerate(bar["cuts"], start=1)
    ]
    return _table("Cut list", CUTS, cuts)


def _rails(layout: Json) -> Iterator[Json]:
    for section in layout["sections"]:
        yield from section.get("rails", ())
        infill = section.get("infill") or {}
        yield from infill.get("rails", ())


def _cut(plan: Json, at: int, bar: Json, place: int, cut: Json, rail: Json) -> dict[str, Cell]:
    saw = rail.get("saw_deg")
    return {
        "material": plan["material"],
        "bar": at,
        "sku": bar["sku"],
        "offcut": _yes(bar["offcut"]),
        **_length("bar_length", bar["length"]),
        "cut": place,
        "piece": cut["piece"],
        "from_start_mm": number(cut["from_start"]["mm"]),
        **_length("length", cut["length"]),
        "saw_deg": None if saw is None else number(saw),
        "first_picket": cut["first_picket"],
        "pickets": rail.get("pickets"),
        "remnant_mm": number(bar["remnant"]["mm"]),
    }


def findings_table(quote: Json) -> Table:
    """Give every finding with the clause it rests on."""
    compliance = quote["compliance"]
    sources = {
        (f"{held['code']} {held['edition']} {held['section']}", held["key"]): held["source"]
        for held in compliance["clauses"]
    }
    return _table("Findings", FINDINGS, (_finding(one, sources) for one in compliance["findings"]))


def findings_sheet(quote: Json) -> Table:
    """Give the findings as they stand alone, the cautions of the quote in rows below them."""
    table = findings_table(quote)
    said = _table("", table.columns, ({"outcome": "caution", "note": s} for s in quote["cautions"]))
    return Table(table.name, table.columns, (*table.rows, *said.rows))


def _finding(finding: Json, sources: Mapping[tuple[str, str], str]) -> dict[str, Cell]:
    measured, limits = finding["measured"], finding["limits"]
    values = [_value(limit) for limit in limits]
    shown = measured or (limits[0] if limits else {})
    texts = ("outcome", "section", "clause", "element", "compare", "rule", "note")
    return {
        **{key: finding[key] for key in texts},
        "measured": measured["text"] if measured else None,
        "measured_value": _value(measured),
        "unit": "mm" if "mm" in shown else shown.get("unit"),
        "limit": " to ".join(limit["enacted"] for limit in limits),
        "limit_value": values[0] if values else None,
        "upper_limit_value": values[1] if len(values) > 1 else None,
        "margin_value": _value(finding["margin"]),
        "amended": finding.get("amended"),
        "from_memory": _yes(finding.get("from_memory", False)),
        "source": sources.get((finding["section"], finding["clause"])),
    }


def _value(quantity: Json | None) -> Decimal | None:
    found = quantity.get("mm", quantity.get("value")) if quantity else None
    return None if found is None else number(found)


def notes(quote: Json) -> list[tuple[str, str]]:
    """Give what a reader of the tables must know besides, as pairs of a heading and a text."""
    layout, table = quote["layout"], quote["price_table"]
    said = [
        ("Quote", quote["id"]),
        ("Reference", quote["reference"]),
        ("Made on", quote["created_on"]),
        ("Valid until", quote.get("valid_until") or ""),
        ("Prices", f"{table['name']}, in {table['currency']}, as on {quote['on']}"),
        ("System", layout["system"]),
        ("Codes", ", ".join(quote["compliance"]["codes"])),
        *(("Payment", f"{part['due']}: {_amount(part)}") for part in quote.get("payments", ())),
        *(("Condition", sentence) for sentence in quote.get("conditions", ())),
        *(("Caution", sentence) for sentence in quote["cautions"]),
        *(("Layout", in_units(sentence, quote["units"])) for sentence in layout["notes"]),
        *(
            ("Take-off", in_units(sentence, quote["units"]))
            for sentence in quote["takeoff"]["notes"]
        ),
    ]
    return [(heading, text) for heading, text in said if text]


def _amount(part: Json) -> str:
    return f"{part['amount']['amount']} {part['amount']['currency']}"


def _length(name: str, length: Json | None) -> dict[str, Cell]:
    if length is None:
        return {}
    return {name: length["text"], f"{name}_mm": number(length["mm"])}


def _unit(code: str) -> dict[str, Cell]:
    return {"unit_of_measure": code, "unit": _READ.get(code) or UNITS_OF_MEASURE.get(code, code)}


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"


def _table(name: str, columns: Iterable[str], records: Iterable[dict[str, Cell]]) -> Table:
    columns = tuple(columns)
    rows = tuple(tuple(record.get(column) for column in columns) for record in records)
    return Table(name, columns, rows)

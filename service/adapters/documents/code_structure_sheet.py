"""The screening of the structure in a code report: formula, inputs, source, assumptions, result."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.adapters.documents.code_sources import Sources
from service.adapters.documents.element_names import named
from service.adapters.documents.sheet import (
    Block,
    Column,
    Facts,
    Heading,
    Listing,
    Paragraph,
    Row,
    Table,
)

Json = Mapping[str, Any]

_MOST = 14


def structure_blocks(structure: Json, sources: Sources) -> Iterator[Block]:
    """Tell the loads, a table of all checks, and each check in full."""
    yield Heading("Structure, screened by calculation")
    yield Listing(tuple(structure["cautions"]))
    yield Facts(tuple(_facts(structure)))
    yield _table(structure["checks"])
    for number, check in enumerate(structure["checks"], start=1):
        yield from _check(number, check, sources)


def _facts(structure: Json) -> Iterator[tuple[str, str]]:
    yield "Loads", "; ".join(structure["loads"]) or "none"
    yield "Direction", str(structure["load_direction"]).replace("_", " ")
    yield "On pickets", str(structure["picket_load"]).replace("_", " ")
    if structure.get("test_factor"):
        yield "Test factor", f"{structure['test_factor']:g}"


def _table(checks: Any) -> Table:
    columns = (
        Column("No.", right=True), Column("Check", 1.2), Column("Elements", 1.0),
        Column("Outcome"), Column("Used", right=True),
    )  # fmt: skip
    rows = tuple(
        Row((
            str(number),
            f"{check['name']}{_under(check)}",
            named(check["worst"] or check["elements"], 6),
            check["outcome"].replace("_", " "),
            used(check),
        ))
        for number, check in enumerate(checks, start=1)
    )  # fmt: skip
    return Table(columns, rows, "Checks of the structure")


def used(check: Json) -> str:
    """Write how much of what is allowed a check uses."""
    if check["result"] is None:
        return "–"
    if check["utilisation"] is None:
        return "over, no balance"
    return f"{check['utilisation']:.4g}"


def _under(check: Json) -> str:
    return f" under {check['load']}" if check["load"] else ""


def _check(number: int, check: Json, sources: Sources) -> Iterator[Block]:
    yield Heading(f"{number}. {check['name']}: {check['outcome'].replace('_', ' ')}", 2)
    yield Facts(tuple(_told(check, sources)))
    if check["inputs"]:
        columns = (Column("Input"), Column("Meaning", 1.0), Column("Value", right=True))
        rows = tuple(Row((i["name"], i["meaning"], i["text"])) for i in check["inputs"])
        yield Table(columns, rows, f"Inputs of {check['name']}")
    if check["assumptions"]:
        yield Paragraph("Assumed:", keep=True)
        yield Listing(tuple(check["assumptions"]))


def _told(check: Json, sources: Sources) -> Iterator[tuple[str, str]]:
    if check["load"]:
        yield "Load", check["load"]
    yield "Elements", named(check["elements"], _MOST)
    if check["worst"]:
        yield "Worst", named(check["worst"], _MOST)
    if check["formula"]:
        yield "Formula", check["formula"]
    for name, key in (("Result", "result"), ("Limit", "limit")):
        value = check[key]
        if value is not None:
            yield name, f"{value['name']} = {value['text']}, {value['meaning']}"
    yield "Used", used(check)
    if check["missing"]:
        yield "Missing", check["missing"]
    yield "Source", sources.cite(check["source"])
    yield "Decides", ", ".join(check["decides"]) or "no clause"

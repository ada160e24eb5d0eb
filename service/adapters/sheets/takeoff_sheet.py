"""Reads a take-off from CSV, as ``tables.takeoff_table`` writes it or an office has changed it."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from service.adapters.sheets.csv_text import read, strange_separator
from service.adapters.sheets.tables import TAKEOFF
from service.domain.lengths import MILLIMETRE
from service.domain.pricing.units import UNITS_OF_MEASURE
from service.domain.takeoff.parts import Item, LabourItem, Packing, Weight
from service.usecases.sheets import Place, TakeoffSheet, UnreadableSheet

NEEDED = ("kind", "description", "ordered", "unit_of_measure")
MOST_ROWS = 5_000
_LONGEST = 200
_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,12})?")
_WHOLE = re.compile(r"[1-9][0-9]{0,6}")
_LENGTH = re.compile(r"[0-9]{1,7}(?:\.[0-9]{1,6})?")
_LINE = re.compile(r"[^\x00-\x1f\x7f-\x9f\u2028\u2029]*")

Row = Mapping[str, str]


def read_takeoff(text: str) -> TakeoffSheet:
    """Read parts and hours to be priced.

    Raises:
        UnreadableSheet: Headings are missing, or cells do not hold what their columns are for.
    """
    parted = strange_separator(text)
    if parted:
        words = f"The cells are parted by {parted}; save the sheet as CSV with commas."
        raise UnreadableSheet([(Place(1), words)])
    try:
        rows = list(read(text))
    except ValueError as error:
        raise UnreadableSheet([(Place(1), f"This is no CSV: {error}.")]) from None
    names = [cell.strip().lower() for cell in rows[0][1]] if rows else []
    if not {*NEEDED} <= {*names} <= {*TAKEOFF} or len(rows) > MOST_ROWS + 1:
        words = f"Send the columns {', '.join(NEEDED)}, others of {', '.join(TAKEOFF)} as they are"
        raise UnreadableSheet([(Place(1), f"{words}, and at most {MOST_ROWS} rows.")])
    records = [(at, dict(zip(names, cells, strict=False))) for at, cells in rows[1:]]
    said = [complaint for at, record in records for complaint in _complaints(at, record)]
    if said:
        raise UnreadableSheet(said)
    goods = tuple(_item(record) for _, record in records if record["kind"] == "goods")
    labour = tuple(_task(record) for _, record in records if record["kind"] == "labour")
    return TakeoffSheet(goods, labour)


def _fits(pattern: re.Pattern[str]) -> Callable[[str], bool]:
    return lambda cell: not cell or pattern.fullmatch(cell) is not None


def _text(cell: str) -> bool:
    return len(cell) <= _LONGEST and _LINE.fullmatch(cell) is not None


_CELLS: Sequence[tuple[str, Callable[[str], bool], str]] = (
    ("kind", lambda cell: cell in ("goods", "labour"), "Write goods or labour."),
    ("description", lambda cell: bool(cell.strip()) and _text(cell), "Write one line of text."),
    ("sku", _text, "Write at most 200 characters."),
    ("category", _text, "Write at most 200 characters."),
    ("ordered", lambda cell: bool(_NUMBER.fullmatch(cell)), "Write a plain number."),
    ("needed", _fits(_NUMBER), "Write a plain number, or nothing."),
    ("waste", _fits(_NUMBER), "Write a plain number, or nothing."),
    ("unit_of_measure", UNITS_OF_MEASURE.__contains__, "Write a code such as C62 or HUR."),
    ("pack_size", _fits(_WHOLE), "Write a whole number, or nothing."),
    ("length_mm", _fits(_LENGTH), "Write millimetres, or nothing."),
    ("weight_kg", _fits(_NUMBER), "Write kilograms, or nothing."),
)


def _complaints(at: int, record: Row) -> Iterator[tuple[Place, str]]:
    for name, fits, advice in _CELLS:
        if not fits(record.get(name, "")):
            yield Place(at, name), advice
    labour = record.get("kind") == "labour"
    if labour and record.get("unit_of_measure") != "HUR":
        yield Place(at, "unit_of_measure"), "Labour is counted in hours, HUR."
    if not labour and not record.get("sku", "").strip():
        yield Place(at, "sku"), "Goods have a SKU, by which they are priced."


def _item(record: Row) -> Item:
    ordered = Decimal(record["ordered"])
    weight, length = record.get("weight_kg", ""), record.get("length_mm", "")
    each = Weight(Fraction(weight) / Fraction(ordered)) if weight and ordered else None
    return Item(
        sku=record["sku"],
        description=record["description"],
        category=record.get("category", ""),
        needed=Decimal(record.get("needed") or ordered),
        ordered=ordered,
        unit_of_measure=record["unit_of_measure"],
        pack_size=int(record.get("pack_size") or 1),
        elements=_elements(record),
        length_nm=int(Decimal(length) * MILLIMETRE) if length else None,
        waste=Decimal(record.get("waste") or 0),
        packing=Packing(weight=each),
    )


def _task(record: Row) -> LabourItem:
    category = record.get("category", "")
    minutes = Decimal(record["ordered"]) * 60
    own = "" if category == "labour" else category
    return LabourItem(record["description"], minutes, _elements(record), own)


def _elements(record: Row) -> tuple[str, ...]:
    named = record.get("elements", "")
    return tuple(named.split("; ")) if named else ()

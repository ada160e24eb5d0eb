"""Price tables as sheets: out for an office to work on, and in as a further version."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID

from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import ValidationError
from werkzeug.exceptions import UnsupportedMediaType

from service.api.auth import stores
from service.api.body import CodedBody, read_bytes
from service.api.conditions import NEEDED_IF_MATCH, refuse_unseen
from service.api.context import context
from service.api.operations import operation
from service.api.price_tables import ADDRESS, MADE, keep_version, shown_to_caller
from service.api.quote_forms import CSV, XLSX
from service.api.schemas.base import Complaints
from service.api.schemas.catalogue import check_kept_rows
from service.api.schemas.pricing import PriceRowSchema
from service.api.scopes import may
from service.api.versions import numbered
from service.domain.pricing.price_table import PriceRow
from service.domain.pricing.units import UNITS_OF_MEASURE
from service.usecases.callers import Scope
from service.usecases.catalogue import PriceDraft
from service.usecases.price_sheets import COLUMNS, MOST_ROWS, Complaint, SheetRow, UnreadablePrices

MOST_BYTES = 5_000_000
blueprint = Blueprint(
    "Price sheets",
    __name__,
    url_prefix=f"{ADDRESS}/<uuid:table_id>",
    description="Price tables for those who work in spreadsheets.",
)
_ROW = PriceRowSchema()
_HEADED = (
    f"The first row holds the headings {', '.join(COLUMNS)}, in any order; all but sku and "
    "unit_of_measure may be left out. An empty cell is a member left out."
)
_DECIMAL = "Write a plain number with a decimal point, such as 12.40, without signs or currency."
_ADVICE: Mapping[str, str] = {
    "sku": "Write the part's SKU on one line, at most 60 characters.",
    "unit_price": _DECIMAL,
    "unit_of_measure": "Write a UN/ECE Recommendation 20 code, such as C62 for one.",
    "cost": _DECIMAL,
    "min_quantity": _DECIMAL,
    "pack_size": "Write a whole number such as 10.",
    "tax_class": "Write one line of at most 40 characters.",
    "effective_from": "Write a date as year-month-day, such as 2026-11-25.",
}
_SHOWN = (
    "sku,unit_price,unit_of_measure,min_quantity,effective_from\r\n"
    '"LK-P40",46.80,"C62",0,\r\n"LK-P40",44.10,"C62",50,2027-01-01\r\n'
)
_BYTES = {"type": "string", "format": "binary"}
_TEXT = {"type": "string"}


def _download(suffix: str, media_type: str, operation_id: str, schema: Any) -> None:
    @operation(
        blueprint,
        f"GET /versions/<int:version>/rows.{suffix}",
        operation_id,
        f"Take the rows of a version as {suffix.upper()}",
        needs=Scope.CATALOGUE_READ,
        description="What an import of it would read back as the same version. The column of "
        "costs is left out for keys without costs:read. In CSV a text that a spreadsheet would "
        "take for a formula is led by an apostrophe, which the import takes away again.",
        answers={
            200: {"description": "All rows, in order.", "content": {media_type: {"schema": schema}}}
        },
        refusals=(404,),
    )
    def take(table_id: UUID, version: int) -> Response:
        rows = stores().price_tables.rows(str(table_id), numbered(version))
        write = context().price_writers[media_type]
        content = write(shown_to_caller(rows), costs=may(Scope.COSTS_READ))
        more = "; charset=utf-8; header=present" if media_type == CSV else ""
        response = Response(content, content_type=media_type + more)
        name = f"{table_id}-{version}.{suffix}"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response


_download("csv", CSV, "getPriceRowsCsv", _TEXT)
_download("xlsx", XLSX, "getPriceRowsXlsx", _BYTES)


@operation(
    blueprint,
    "POST /imports",
    "importPrices",
    "Keep a further version of a price table from a spreadsheet",
    needs=Scope.CATALOGUE_WRITE,
    description=f"CSV in UTF-8 with commas, or the first sheet of a workbook. {_HEADED} The rows "
    f"take the place of all rows before, in the currency of the table: at most {MOST_ROWS} in "
    f"{MOST_BYTES} bytes. Each wrong cell is told with its row, its column and what would do, and "
    "then nothing is kept. Formulas in a workbook are refused. A table with costs, and a sheet "
    "with costs, need a key that also has costs:read.",
    requestBody={
        "required": True,
        "content": {
            CSV: {
                "schema": _TEXT,
                "examples": {"demo": {"summary": "Two rows of a part", "value": _SHOWN}},
            },
            XLSX: {"schema": _BYTES},
        },
    },
    parameters=[NEEDED_IF_MATCH],
    answers={201: MADE, 200: {**MADE, "description": "The newest version holds the same."}},
    refusals=(400, 404, 409, 412, 413, 415, 422, 428),
)
def take_in(table_id: UUID) -> Response:
    """Keep the rows of a sheet as a version, all or none."""
    kept = stores().price_tables
    named = kept.table(str(table_id))
    refuse_unseen(named.name, str(named.revision))
    rows = _rows_sent()
    currency = kept.version(named.id, named.latest).currency
    return keep_version(named, PriceDraft(currency, rows))


def _rows_sent() -> list[PriceRow]:
    """Read the rows of the body.

    Raises:
        UnreadablePrices: Something is wrong; it tells everything that is.
    """
    read = _reader()
    content = read_bytes(request, MOST_BYTES)
    try:
        return rows_of(read(content))
    except UnreadablePrices as error:
        said = [*error.complaints, *_complaints_of(error.rows)[1]]
        raise UnreadablePrices(sorted(said, key=lambda one: one.row)) from None


def _reader() -> Callable[[bytes], list[SheetRow]]:
    """Give what reads the type that is sent."""
    readers = context().price_readers
    if request.mimetype not in readers:
        raise UnsupportedMediaType(f"Send the sheet as {' or '.join(readers)}.")
    if request.headers.get("Content-Encoding", "identity").lower() != "identity":
        raise CodedBody
    return readers[request.mimetype]


def rows_of(sheet: Sequence[SheetRow]) -> list[PriceRow]:
    """Load the rows of a sheet as those of a JSON body would be.

    Raises:
        UnreadablePrices: A cell does not fit its column, or rows contradict each other.
    """
    loaded, said = _complaints_of(sheet)
    if said:
        raise UnreadablePrices(said)
    return [PriceRow(**row) for row in loaded]


def _complaints_of(sheet: Sequence[SheetRow]) -> tuple[list[Any], list[Complaint]]:
    """Load rows, as far as each fits, and complain of the others and of contradictions."""
    fits: list[SheetRow] = []
    loaded: list[Any] = []
    said: list[Complaint] = []
    for row in sheet:
        try:
            loaded.append(_ROW.load(_members(row)))
            fits.append(row)
        except ValidationError as error:
            said += [_misfit(row, name) for name in _wrong_columns(row, error)]
    said += _contradictions(fits, loaded)
    return loaded, sorted(said, key=lambda one: one.row)


def _wrong_columns(row: SheetRow, error: ValidationError) -> list[str]:
    """Name the columns of a row that does not fit; of units also one that has the form of one."""
    wrong = list(map(str, error.messages_dict))
    unit = row.cells.get("unit_of_measure", "").strip()
    if "unit_of_measure" not in wrong and unit not in UNITS_OF_MEASURE:
        wrong.append("unit_of_measure")
    return sorted(wrong, key=COLUMNS.index)


def _members(row: SheetRow) -> dict[str, Any]:
    """Give a row as a JSON body has it: texts but for the size of a pack."""
    members: dict[str, Any] = {
        name: cell if name in ("sku", "tax_class") else cell.strip()
        for name, cell in row.cells.items()
    }
    size = members.get("pack_size", "")
    if size.isascii() and size.isdigit() and len(size) < 10:
        members["pack_size"] = int(size)
    return members


def _misfit(row: SheetRow, column: str) -> Complaint:
    cell = row.cells.get(column)
    if cell is None:
        return Complaint(row.number, column, "The cell is empty.", _ADVICE[column])
    detail = f"{cell[:60]!r} does not fit this column."
    if _ADVICE[column] is _DECIMAL and "," in cell:
        detail = f"{cell[:60]!r} has a comma, which may part decimals or thousands."
    return Complaint(row.number, column, detail, _ADVICE[column])


def _contradictions(sheet: Sequence[SheetRow], loaded: list[Any]) -> Iterator[Complaint]:
    complaints = Complaints()
    check_kept_rows(loaded, complaints)
    try:
        complaints.refuse()
    except ValidationError as error:
        messages: Any = error.messages
        for index, columns in messages["rows"].items():
            for column, said in columns.items():
                yield Complaint(sheet[index].number, column, said[0], _ADVICE[column])

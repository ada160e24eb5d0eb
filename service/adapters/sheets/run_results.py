"""What a re-pricing run came to, as rows of a sheet."""

from collections.abc import Sequence
from decimal import Decimal

from service.adapters.sheets.csv_text import render
from service.adapters.sheets.tables import Cell, Table
from service.usecases.repricing.records import RunResult

_COLUMNS = (
    "quote",
    "reference",
    "outside_reference",
    "outcome",
    "revision",
    "currency",
    "before",
    "after",
    "change",
    "change_rate",
    "detail",
)
_COSTS = ("margin", "under_floor")
_RATE = Decimal("0.000001")


def write(results: Sequence[RunResult], *, costs: bool, heading: bool) -> bytes:
    """Write results as CSV.

    Args:
        results: In order.
        costs: Whether the columns of margins are there.
        heading: Whether a row of headings goes before them.
    """
    columns = _COLUMNS + (_COSTS if costs else ())
    written = render(Table("results", columns, tuple(_row(one, costs) for one in results)))
    return written if heading else written.partition(b"\r\n")[2]


def _row(result: RunResult, costs: bool) -> tuple[Cell, ...]:
    before, after = result.before.amount, result.after.amount if result.after else None
    change = None if after is None else after - before
    rate = None if change is None or not before else (change / before).quantize(_RATE)
    row: tuple[Cell, ...] = (
        result.quote_id,
        result.reference,
        result.outside_reference,
        result.outcome.value,
        result.revision_id or None,
        result.before.currency,
        before,
        after,
        change,
        rate,
        result.detail,
    )
    floor = "yes" if result.under_floor else "no"
    return (*row, result.margin, floor) if costs else row

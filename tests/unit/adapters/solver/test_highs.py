"""The solver says nothing: standard output belongs to the command line and its documents."""

import subprocess
import sys

SCRIPT = """
from decimal import Decimal
from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
row = tuple(Piece(f"p{i}", "S", 19 + 4 * (i % 7)) for i in range(30))
stocks = (StockLength("A", 101, Decimal("7.1")), StockLength("B", 149, Decimal(10)))
plan = cut(CutDemand("rail", row, stocks, 1), solver=HighsMasterSolver())
assert plan.method == "column generation"
"""


def test_nothing_is_printed_by_a_process_that_cuts_with_it() -> None:
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, timeout=120)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")

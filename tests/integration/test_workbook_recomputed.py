"""A spreadsheet program recomputes the workbook and finds the service's figures, to the cent.

Runs where LibreOffice is installed (``soffice``); ``.ci/run`` installs it.
"""

import csv
import shutil
import subprocess
from decimal import Decimal

import pytest

from service.adapters.sheets.quote_xlsx import render
from service.domain.money import minor_unit
from service.domain.pricing.settings import Half
from tests.unit.adapters.sheets import quotes

soffice = shutil.which("soffice")
pytestmark = pytest.mark.skipif(not soffice, reason="LibreOffice is not installed")

# By default LibreOffice keeps the figures a workbook carries; this makes it compute them anew.
RECOMPUTE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
# Separator, quote, UTF-8, from line 1, texts not quoted, values as stored, first sheet.
CSV_FILTER = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false"


def recomputed(folder, data):
    (folder / "profile/user").mkdir(parents=True)
    (folder / "profile/user/registrymodifications.xcu").write_text(RECOMPUTE)
    (folder / "quote.xlsx").write_bytes(data)
    subprocess.run(
        [soffice, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to",
         CSV_FILTER, "--outdir", folder, folder / "quote.xlsx"],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    with (folder / "quote.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def close(found, expected):
    """Equal to the minor unit, and not merely when rounded."""
    return abs(Decimal(found) - Decimal(expected)) < Decimal("0.0001")


RATES = (Decimal("0.0625"), Decimal("0.005"), Decimal("0.09975"))


def of_halves(currency, **rules):
    products = quotes.halves(700, minor_unit(currency), seed=3)
    return quotes.of_products(products, currency, RATES, exempt_from=600, **rules)


CASES = [
    *[pytest.param(quote, id=f"example {i}") for i, quote in enumerate(quotes.answered())],
    *[pytest.param(quote, id=name) for name, quote in quotes.of_rules().items()],
    *[pytest.param(of_halves(code), id=f"halves in {code}") for code in ("USD", "JPY", "KWD")],
    *[
        pytest.param(of_halves(code, half=Half.EVEN), id=f"halves to even in {code}")
        for code in ("USD", "JPY", "KWD")
    ],
]


@pytest.mark.parametrize("quote", CASES)
def test_recomputed_figures_are_those_of_the_service(tmp_path, quote):
    rows = recomputed(tmp_path, render(quote))
    totals = quote["totals"]
    taxes = totals["taxes"]
    for line, row in zip(quote["lines"], rows[6:], strict=False):
        assert close(row[8], line.get("amount", line["net"])["amount"]), (line, row)
        assert close(row[10], line["net"]["amount"]), (line, row)
        borne = {(tax["name"], tax["rate"]): tax["amount"]["amount"] for tax in line["taxes"]}
        for tax, cell in zip(taxes, row[11:], strict=False):
            assert close(cell or 0, borne.get((tax["name"], tax["rate"]), 0)), (line, row)
        assert close(row[11 + len(taxes)], line["tax"]["amount"]), (line, row)
    sums = [row[10] for row in rows[6 + len(quote["lines"]) + 1 :]]
    kinds = [totals[key] for key in ("goods", "labour", "charges") if key in totals]
    amounts = [*kinds, totals["net"], *(t["amount"] for t in taxes), totals["tax"], totals["gross"]]
    assert len(sums) == len(amounts)
    assert all(close(s, a["amount"]) for s, a in zip(sums, amounts, strict=True)), (sums, totals)


def test_the_program_does_compute(tmp_path):
    """Were the figures that formulas carry merely read, a false one would come back."""
    quote = quotes.of_products([(Decimal(3), Decimal("1.50"))])
    quote["lines"][0]["net"]["amount"] = "9.99"
    quote["totals"]["gross"]["amount"] = "0.01"
    rows = recomputed(tmp_path, render(quote))
    assert Decimal(rows[6][10]) == Decimal("4.5")
    assert Decimal(rows[-1][10]) == Decimal("4.5")

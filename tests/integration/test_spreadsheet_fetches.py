"""A spreadsheet program fetches estimates by address from a live server, cell by cell.

Runs where LibreOffice and its Python library are installed (``soffice``, ``python3-uno``);
``.ci/run`` installs both. What a cell shows of a refusal was found here and is held.
"""

import json
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest

from service.adapters.storage.engine import connect
from tests.live import live, migrate, settings
from tests.shop import stock

PYTHON = "/usr/bin/python3"  # of the system, which its packages are installed for


def has_uno():
    asked = [PYTHON, "-c", "import uno"]
    return Path(PYTHON).exists() and not subprocess.run(asked, capture_output=True).returncode


pytestmark = pytest.mark.skipif(
    not (shutil.which("soffice") and has_uno()), reason="LibreOffice or its uno is not installed"
)


def filled_in(folder, cells):
    script = Path(__file__).with_name("spreadsheet.py")
    done = subprocess.run(
        [PYTHON, script, folder], input=json.dumps(cells), env={"PATH": "/usr/bin:/bin"},
        check=True, capture_output=True, text=True, timeout=150,
    )  # fmt: skip
    return json.loads(done.stdout)


def test_cells_fetch_totals_that_can_be_reckoned_with(tmp_path, capfd):
    url = f"sqlite:///{tmp_path}/sheet.db"
    environ = settings(url, workers=1, log_level="DEBUG")
    migrate(environ)
    engine = connect(url)
    stock(engine)
    engine.dispose()
    with live(environ) as server:
        key = server.key("--publishable", "--sheets")
        address = f"{server.url}/v1/estimates?key={key}&sides="
        fetch = f'=WEBSERVICE("{address}" & ENCODEURL(A1) & "&falls=" & ENCODEURL(A2)'
        cells = filled_in(
            tmp_path,
            {
                "A1": "12' 0\";16' 0\";12' 0\"",
                "A2": "3' 6\"",
                "A3": "3.5",
                "B1": f"{fetch})",
                "B2": f'{fetch} & "&total=net")',
                "B3": f'{fetch} & "&total=tax")',
                "C1": "=VALUE(B2)+VALUE(B3)-VALUE(B1)",
                "C2": "=ROUND(VALUE(B1)/2;2)",
                "B4": f'=WEBSERVICE("{address}" & ENCODEURL(A1) & "&falls=" & ENCODEURL(A3))',
                "C4": "=ISERROR(B4)",
                "B5": f'{fetch} & "&format=csv")',
            },
        )
    assert cells["B1"]["error"] == 0, cells
    gross = Decimal(cells["B1"]["text"])
    assert gross > 1000
    assert abs(cells["C1"]["number"]) < 0.0001
    assert abs(Decimal(str(cells["C2"]["number"])) - gross / 2) < Decimal("0.01")
    assert cells["B5"]["text"].splitlines()[0].startswith('"kind","number"')
    # It shows nothing of a refusal but that there was one; sums over it are no number either.
    assert (cells["B4"]["text"], cells["C4"]["number"]) == ("#VALUE!", 1)
    told = capfd.readouterr()
    logged = told.out + told.err
    assert "GET /v1/estimates 200" in logged
    assert "HEAD /v1/estimates 422" in logged
    assert key not in logged
    assert key.rpartition("_")[2] not in logged

"""What a document costs: its time as a ratio to computing the quote, within one run.

    python -m tests.benchmarks.bench_documents

The quote is computed, written and kept through the test client; each document is asked for in the
same way, so both carry the same way through HTTP. The workbook, the tables and the drawings are
measured beside the PDFs. Times are the best of several rounds; only their ratios mean anything.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.api.replay import request_bytes
from tests.benchmarks.bench_quote import best
from tests.serving import client_of, migrated_app

DOCUMENTS = (
    "/quote.pdf",
    "/site-sheets.pdf",
    "/code-report.pdf",
    ".xlsx",
    ".csv",
    ".xml",
    ".dxf",
    "/cut-bars.svg",
)
ROUNDS, REPEAT = 12, 1


def ratios(name: str) -> dict[str, float]:
    """Give the ratio of each document's time to that of computing an example's quote."""
    with TemporaryDirectory() as folder:
        app = migrated_app(Path(folder), log_level="WARNING")
        client = client_of(app)
        body = request_bytes(name)

        def post() -> str:
            answer = client.post("/v1/quotes", data=body, content_type="application/json")
            assert answer.status_code == 201, answer.get_data()
            return str(answer.headers["Location"])

        def fetch(address: str) -> None:
            answer = client.get(address)
            assert answer.status_code == 200, answer.get_data()

        address = post()
        whole = best(post, ROUNDS, REPEAT)
        given = {}
        for suffix in DOCUMENTS:
            fetch(address + suffix)
            seconds = best(lambda suffix=suffix: fetch(address + suffix), ROUNDS, REPEAT)
            given[suffix] = seconds / whole
        app.extensions["evenbay"].engine.dispose()
    return given


def main() -> None:
    for name in sys.argv[1:] or ("quote", "metric-quote", "cable-quote"):
        print(f"{name}: time of each document over the time of computing the quote")
        for suffix, ratio in ratios(name).items():
            print(f"  {suffix:18} {ratio:7.2f}")


if __name__ == "__main__":
    main()

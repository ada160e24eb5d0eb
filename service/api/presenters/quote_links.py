"""Where a quote and its documents are found."""

from service.api.presenters.values import Json

# Name of a link: what follows the quote's address. Each is described with the documents.
DOCUMENTS = {
    "drawing": "/drawing.svg",
    "cut_bars": "/cut-bars.svg",
    "dxf": ".dxf",
    "pdf": "/quote.pdf",
    "site_sheets": "/site-sheets.pdf",
    "code_report": "/code-report.pdf",
    "csv": ".csv",
    "takeoff": "/takeoff.csv",
    "cut_list": "/cut-list.csv",
    "findings": "/findings.csv",
    "xlsx": ".xlsx",
    "ubl": ".xml",
}


def links_of(quote_id: str, revises: str) -> Json:
    """Give the links of a quote that revises another, "" for none."""
    here = f"/v1/quotes/{quote_id}"
    return {
        "self": here,
        **{name: here + suffix for name, suffix in DOCUMENTS.items()},
        "state": f"{here}/state",
        "revises": f"/v1/quotes/{revises}" if revises else None,
    }

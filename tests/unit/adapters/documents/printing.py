"""Quotes to print: the examples with their layouts, and what can be read of a page again."""

import json
from functools import cache
from io import BytesIO
from pathlib import Path

import orjson
from pypdf import PdfReader

from service.adapters.documents.pdf import pages_of
from service.adapters.documents.prints import print_document
from service.adapters.documents.strips import Letters
from service.api.schemas.requests import QUOTE_REQUEST
from service.usecases.letterhead import Letterhead
from service.usecases.take_off_railing import lay_out_to_order

EXAMPLES = Path(__file__).parents[4] / "openapi" / "examples"
GOLDEN = Path(__file__).parents[3] / "golden"
QUOTES = ("quote", "metric-quote", "cable-quote")
HEAD = Letterhead(
    "Larkmere Deck & Rail",
    ("3 Quay Street", "Wexholm"),
    ("Tel. 555 0100", "office@larkmere.example"),
    "Licence 0000",
    "Thank you for asking us.",
)


@cache
def _answer(name):
    return (EXAMPLES / f"{name}-response.json").read_bytes()


def answer(name="quote"):
    """Give an example's answer, free to be changed."""
    return orjson.loads(_answer(name))


def screened():
    """Give the demo quote with the screening of its structure."""
    quote, check = answer(), answer("screened-code-check")
    quote["structure"] = check["structure"]
    quote["compliance"] = {
        key: check[key] for key in ("codes", "outcomes", "findings", "clauses", "advice")
    }
    return quote


@cache
def layout_of(name="quote"):
    """Lay an example out."""
    order = QUOTE_REQUEST.load(json.loads((EXAMPLES / f"{name}-request.json").read_text()))
    return lay_out_to_order(order, order.on)


def printed(document, quote, layout=None, head=HEAD):
    """Print a quote."""
    return print_document(document, orjson.dumps(quote), layout, head)


def squeezed(text):
    """Leave blanks out, as where a text is broken is no matter."""
    return "".join(text.split())


def read(pdf):
    """Give all letters of a PDF without blanks."""
    return squeezed(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages))


def lines_of(sheet):
    """Give the lines of letters of each page, without drawings."""
    return [
        [ink.text for strip, _ in page for ink in strip.inks if isinstance(ink, Letters)]
        for page in pages_of(sheet)
    ]

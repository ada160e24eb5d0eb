"""Quotes from a spreadsheet: a CSV of edges in, priced lines out.

The sheet is one part of a form, everything else of a quote's request the other. The quote that is
made is kept like any other; its order is kept as the request that the sheet stands for.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA
from werkzeug.exceptions import BadRequest, UnsupportedMediaType

from service.api.body import JSON, parsed
from service.api.context import Beside, context, load_content, today
from service.api.manners.negotiation import best_offer
from service.api.operations import json_of, located, operation
from service.api.presenters.quote_money import present_lines
from service.api.quote_forms import CSV, OF_QUOTE, XLSX, given
from service.api.quotes import make_quote
from service.api.schemas.base import Complaints
from service.api.schemas.requests import PRICES_REQUEST, QUOTE_REQUEST, Prices
from service.api.sheet_forms import EDGES_FORM, FORM, TAKEOFF_FORM
from service.domain.errors import QuotingError, Where
from service.domain.pricing.quote import price
from service.usecases.callers import Scope
from service.usecases.sheets import DeckSheet, UnreadableSheet

blueprint = Blueprint(
    "Sheets", __name__, url_prefix="/v1/sheets", description="For those who work in spreadsheets."
)
_FORMS = {form.media_type: form for form in OF_QUOTE if form.media_type in (CSV, JSON, XLSX)}
_LOCATION = located("Where the quote can be read.")


@operation(
    blueprint,
    "POST /quotes",
    "createQuoteFromSheet",
    "Quote a deck that a CSV of edges describes",
    needs=Scope.QUOTES_WRITE,
    description="The answer is the priced lines as CSV, or the quote as JSON or a workbook by "
    "Accept; the quote is kept, and its other documents are read as those of any other. What is "
    "wrong in the sheet is told with its row and column.",
    requestBody=EDGES_FORM,
    answers={
        201: {
            "description": "The quote, which is kept.",
            "content": {
                CSV: {"schema": {"type": "string"}},
                XLSX: {"schema": _FORMS[XLSX].schema},
                **json_of("Quote"),
            },
            "headers": _LOCATION,
        }
    },
    refusals=(400, 413, 415, 422),
)
def quote_sheet() -> Response:
    """Make a quote from a sheet."""
    edges, settings = _parts("edges")
    if "deck" in settings:
        raise ValidationError({"settings": ["Leave out the deck: it is the sheet of edges."]})
    try:
        sheet = context().read_edges(edges)
    except UnreadableSheet as error:
        raise _unreadable(error, "edges") from None
    content = {**settings, "deck": sheet.deck}
    try:
        stored = make_quote(*load_content(QUOTE_REQUEST, content))
    except ValidationError as error:
        raise _placed(error, sheet) from None
    except QuotingError as error:
        _place(error, sheet)
        raise
    form = _FORMS[best_offer(request.accept_mimetypes, (CSV, XLSX, JSON)) or CSV]
    answer = given(form, stored.id)
    answer.status_code = 201
    answer.headers["Location"] = f"/v1/quotes/{stored.id}"
    return answer


@operation(
    blueprint,
    "POST /takeoffs",
    "priceTakeoffSheet",
    "Price a take-off that comes as CSV",
    needs=Scope.ESTIMATES,
    description="For a take-off that an office has changed, or made itself. Nothing is kept. "
    "Carriage by weight needs the column weight_kg.",
    requestBody=TAKEOFF_FORM,
    answers={
        200: {"description": "The priced lines.", "content": {CSV: {"schema": {"type": "string"}}}}
    },
    refusals=(400, 413, 415, 422),
)
def price_takeoff() -> Response:
    """Price a sheet of parts and hours."""
    text, settings = _parts("takeoff")
    try:
        sheet = context().read_takeoff(text)
    except UnreadableSheet as error:
        raise _unreadable(error, "takeoff") from None
    try:
        prices: Prices = load_content(PRICES_REQUEST, settings)[1]
        on = prices.on or today()
        priced = price(sheet.items, sheet.labour, prices.table, prices.pricing, on)
    except ValidationError as error:
        raise ValidationError({"settings": error.messages}) from None
    except QuotingError as error:
        error.where = ("settings", *error.where)
        raise
    told = {"lines": present_lines(priced.lines, prices.units)}
    lines = context().sheets["lines.csv"](told, Beside())
    return Response(lines, content_type=f"{CSV}; charset=utf-8; header=present")


def _parts(name: str) -> tuple[str, dict[str, Any]]:
    """Read both parts of the form: the sheet of this name, and the settings."""
    if request.mimetype != FORM:
        raise UnsupportedMediaType(f"Send a form of two parts as {FORM}: {name} and settings.")
    bounds = context().settings
    if request.content_length is None:
        raise BadRequest("Send the length of the form in Content-Length.")
    request.max_content_length = request.max_form_memory_size = bounds.max_body_bytes
    sheet, settings = _part(name), _part("settings")
    try:
        text = sheet.decode("utf-8")
    except UnicodeDecodeError:
        raise ValidationError({name: ["Save the sheet as CSV in UTF-8."]}) from None
    try:
        content = parsed(settings, bounds.max_nesting)
    except BadRequest as error:
        raise ValidationError({"settings": [str(error.description)]}) from None
    if not isinstance(content, dict):
        raise ValidationError({"settings": ["Send an object."]})
    return text, content


def _part(name: str) -> bytes:
    """Give a part's bytes, sent as a file or as a field."""
    file = request.files.get(name)
    if file is not None:
        content: bytes = file.read()
        return content
    text = request.form.get(name)
    if text is None:
        raise BadRequest(f"The form has no part {name}.")
    return text.encode("utf-8", "surrogatepass")


def _unreadable(error: UnreadableSheet, name: str) -> ValidationError:
    complaints = Complaints()
    for place, message in error.complaints:
        where = (place.row, place.column) if place.column else (place.row,)
        complaints.add((name, *where), f"{place}: {message}")
    try:
        complaints.refuse()
    except ValidationError as refused:
        return refused
    return ValidationError({name: [str(error)]})


def _placed(error: ValidationError, sheet: DeckSheet) -> ValidationError:
    """Tell what is wrong in the sheet by row and column, all else by its place in the settings."""
    complaints = Complaints()
    for where, message in _leaves(error.messages, ()):
        place = sheet.place_of(where)
        if place is None:
            complaints.add(("settings", *where), message)
        else:
            complaints.add(_where(where, sheet), f"{place}: {message}")
    try:
        complaints.refuse()
    except ValidationError as refused:
        return refused
    return error


def _place(error: QuotingError, sheet: DeckSheet) -> None:
    place = sheet.place_of(error.where)
    if place is not None:
        error.detail = f"{place}: {error.detail}"
    error.where = _where(error.where, sheet)


def _where(where: Where, sheet: DeckSheet) -> Where:
    place = sheet.place_of(where)
    if place is None:
        return ("edges",) if where[:1] == ("deck",) else ("settings", *where)
    return ("edges", place.row, place.column) if place.column else ("edges", place.row)


def _leaves(messages: Any, where: Where) -> Iterator[tuple[Where, str]]:
    """Give each complaint of marshmallow's tree with its path."""
    if isinstance(messages, Mapping) and isinstance(messages.get("detail"), str):
        yield where, " ".join(str(part) for part in messages.values())
    elif isinstance(messages, Mapping):
        for key, branch in messages.items():
            yield from _leaves(branch, where if key == SCHEMA else (*where, key))
    elif isinstance(messages, list | tuple):
        for message in messages:
            yield from _leaves(message, where)
    else:
        yield where, str(messages)

"""The main job, by a client that openapi-python-client made of the document.

python main_job.py ADDRESS REQUEST, with the key in EVENBAY_KEY.
"""

import json
import os
import sys
from decimal import Decimal
from http import HTTPStatus
from pathlib import Path

from evenbay_client import AuthenticatedClient
from evenbay_client.api.offcuts import add_offcut, list_offcuts
from evenbay_client.api.quote_states import accept_quote, get_quote_state
from evenbay_client.api.quotes import create_quote, get_drawing, get_quote
from evenbay_client.models import (
    LengthUnit,
    LineKind,
    Offcut,
    OffcutPage,
    OffcutRequest,
    OffcutState,
    PositiveLengthValue,
    PostPosition,
    Problem,
    Quote,
    QuoteRequest,
    QuoteState,
    Standing,
)


def quoted(client: AuthenticatedClient, order: QuoteRequest) -> Quote:
    """Make the quote; its sums are exact decimals."""
    quote = create_quote.sync(client=client, body=order)
    assert isinstance(quote, Quote), quote
    goods = [line for line in quote.lines if line.kind is LineKind.GOODS]
    assert goods
    assert sum(Decimal(line.net.amount) for line in goods) == Decimal(quote.totals.goods.amount)
    assert PostPosition.CORNER in {post.position for post in quote.layout.posts}
    assert not any(section.infill for section in quote.layout.sections)
    return quote


def accepted(client: AuthenticatedClient, quote: Quote) -> QuoteState:
    """Accept it and see that it stands so."""
    answer = accept_quote.sync(quote.id, client=client)
    assert isinstance(answer, QuoteState), answer
    state = get_quote_state.sync(quote.id, client=client)
    assert state == answer
    assert state.state is Standing.ACCEPTED
    return state


def shelved(client: AuthenticatedClient) -> Offcut:
    """Put an offcut on the shelf and find it there."""
    length = PositiveLengthValue(value="54.125", unit=LengthUnit.IN)
    wish = OffcutRequest(sku="LK-TR", length=length, value="6.50")
    offcut = add_offcut.sync(client=client, body=wish)
    assert isinstance(offcut, Offcut), offcut
    page = list_offcuts.sync(client=client, sku="LK-TR")
    assert isinstance(page, OffcutPage), page
    assert offcut in page.offcuts
    assert (offcut.length.mm, offcut.state) == (1374.775, OffcutState.AVAILABLE)
    return offcut


def refused(client: AuthenticatedClient, order: QuoteRequest) -> Problem:
    """Send a length without its unit and be told where and what to do."""
    order.deck.levels[0].height_above_ground = "4"
    answer = create_quote.sync_detailed(client=client, body=order)
    assert answer.status_code is HTTPStatus.UNPROCESSABLE_ENTITY
    problem = answer.parsed
    assert isinstance(problem, Problem), problem
    assert problem.type_ == "/problems/invalid-request"
    assert problem.errors
    assert problem.errors[0].pointer == "#/deck/levels/0/height_above_ground"
    assert "unit" in problem.errors[0].detail
    return problem


def main() -> None:
    address, request = sys.argv[1:]
    client = AuthenticatedClient(
        base_url=address, token=os.environ["EVENBAY_KEY"], raise_on_unexpected_status=True
    )
    order = QuoteRequest.from_dict(json.loads(Path(request).read_text()))
    quote = quoted(client, order)
    assert get_quote.sync(quote.id, client=client) == quote
    drawing = get_drawing.sync(quote.id, client=client)
    assert isinstance(drawing, str)
    assert "<svg" in drawing
    state = accepted(client, quote)
    offcut = shelved(client)
    problem = refused(client, order)
    total = quote.totals.gross
    print(f"Python: {quote.reference}: {total.amount} {total.currency}, {state.state.value};")
    print(f"        offcut {offcut.length.text}; refused: {problem.detail}")


main()

"""Several ways to do one job, priced side by side."""

from collections.abc import Iterator, Mapping
from typing import Any

from flask import Response
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service import __version__
from service.api.auth import stores
from service.api.context import body, context, load_content
from service.api.operations import answer, json_of, operation
from service.api.presenters.price_comparisons import Way, present_price_comparison
from service.api.problems import complaints_in
from service.api.quotes import refuse_past
from service.api.references import patched
from service.api.schemas.base import Complaints
from service.api.schemas.price_comparisons import PRICE_COMPARISON_REQUEST, sent_at
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.errors import QuotingError
from service.usecases.callers import Scope
from service.usecases.compare_prices import Ways, compare_prices
from service.usecases.orders import QuoteOrder
from service.usecases.quote_railing import Quote, Receipt

blueprint = Blueprint(
    "Price comparisons",
    __name__,
    url_prefix="/v1/price-comparisons",
    description="Systems, colours or infills side by side, before one of them is quoted.",
)


@operation(
    blueprint,
    "POST ",
    "comparePrices",
    "Price several ways to do one job side by side",
    needs=Scope.QUOTES_WRITE,
    replays=False,
    description="The first is a whole quote request; each alternative is a merge patch (RFC 7396) "
    "of it, in which what is named takes the whole place of what stood there. Every one is laid "
    "out, checked, taken off, cut and priced as a quote would be, and nothing is kept. An "
    "alternative that cannot be had tells why in its entry.",
    takes=PRICE_COMPARISON_REQUEST,
    example="price-comparison",
    answers={200: {"description": "The prices.", "content": json_of("PriceComparison")}},
)
def create() -> Response:
    """Compare prices."""
    _, content = body()
    sent = PRICE_COMPARISON_REQUEST.load(content)
    with context().watch.stage("read"):
        ways = list(_ways(sent))
    first, *others = _worked_out(ways)
    if isinstance(first, QuotingError):
        raise _of_first(first)
    named = [
        Way(one["name"], _of_other(result, sent, index))
        for index, (one, result) in enumerate(zip(sent["alternatives"], others, strict=True))
    ]
    press = context().press
    return answer(present_price_comparison(sent["name"], first, named, press))


def _worked_out(ways: Ways) -> Iterator[Quote | QuotingError]:
    here = context()
    return compare_prices(
        ways,
        _receive,
        codes=here.codes,
        materials=here.materials,
        saw=here.saw,
        shelf=stores().shelf,
        watch=here.watch,
    )


def _receive(order: QuoteOrder) -> Receipt:
    now = context().now()
    return Receipt("", now, order.on or now.date(), __version__, b"")


def _ways(sent: Mapping[str, Any]) -> Iterator[QuoteOrder | QuotingError]:
    """Read the first order and every other; all that does not fit its description is told."""
    complaints = Complaints()
    try:
        yield _order(sent["quote"])
    except QuotingError as refusal:
        raise _of_first(refusal) from None
    except ValidationError as error:
        raise ValidationError({"quote": error.messages}) from None
    for index, one in enumerate(sent["alternatives"]):
        try:
            yield _order(patched(sent["quote"], one["changes"])[0])
        except QuotingError as refusal:
            yield refusal
        except ValidationError as error:
            for where, complaint in complaints_in(error.messages):
                complaints.add(sent_at(where, sent["quote"], one["changes"], index), complaint)
    complaints.refuse()


def _order(content: Any) -> QuoteOrder:
    order: QuoteOrder = load_content(QUOTE_REQUEST, content)[1]
    refuse_past(order, context().now().date())
    return order


def _of_first(refusal: QuotingError) -> QuotingError:
    refusal.where = ("quote", *refusal.where)
    return refusal


def _of_other(result: Any, sent: Mapping[str, Any], index: int) -> Any:
    if isinstance(result, QuotingError):
        changes = sent["alternatives"][index]["changes"]
        result.where = sent_at(result.where, sent["quote"], changes, index)
    return result

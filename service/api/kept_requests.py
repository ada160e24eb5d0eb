"""Reads bodies that were read before."""

import orjson
from marshmallow import ValidationError

from service.api.context import understand
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.errors import NotReproducible, QuotingError
from service.usecases.orders import QuoteOrder
from service.usecases.ports import Inputs


def read_again(body: bytes, _inputs: Inputs) -> QuoteOrder:
    """Read a body that was read before, perhaps by an older version."""
    try:
        order: QuoteOrder = understand(QUOTE_REQUEST, orjson.loads(body))
    except (ValidationError, QuotingError) as error:
        raise NotReproducible("This version no longer reads the order of this quote.") from error
    return order

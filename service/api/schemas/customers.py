"""Whom a quote is for, as a request says it."""

from collections.abc import Mapping
from typing import Any

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import Rows, Text
from service.usecases.orders import NOBODY, Customer

LONGEST = 120
MOST_LINES = 8
# Enough to catch what is no address at all; whether it can be reached only a message tells.
EMAIL = r"^[^@\s\u0000-\u001f\u007f-\u009f]{1,64}@[^@\s\u0000-\u001f\u007f-\u009f]{1,190}$"


class CustomerSchema(StrictSchema):
    """Whom a quote is for; every member may be left out."""

    name = Text(LONGEST)
    company = Text(LONGEST)
    email = Text(254, pattern=EMAIL, advice="Write an e-mail address, such as ann@example.com.")
    phone = Text(40)
    address = Rows(Text(LONGEST), 1, MOST_LINES)


def customer_of(said: Mapping[str, Any] | None) -> Customer:
    """Give the record."""
    if said is None:
        return NOBODY
    return Customer(**{**said, "address": tuple(said.get("address", ()))})

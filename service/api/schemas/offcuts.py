"""Offcuts on hand as a request gives them, and one to be stored."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.fields import Choice, DecimalText, LengthField, Text
from service.api.schemas.pages import PageQuery
from service.api.schemas.parts import LONGEST_SKU
from service.domain.cutting.offcuts import Offcut
from service.usecases.orders import Units

MOST_OFFCUTS = 100
LONGEST_NOTE = 200
LONGEST_NAME = 60

Loaded = Mapping[str, Any]


class OnHandSchema(StrictSchema):
    """An offcut on hand: of which part, how long between clean ends, where its first picket is."""

    name = Text(LONGEST_NAME)
    sku = Text(LONGEST_SKU, required=True)
    length = LengthField(required=True)
    first_picket = LengthField(kind="Length", load_default=absent)
    value = DecimalText(load_default=Decimal(0))


class OffcutRequest(StrictSchema):
    """Body of POST /v1/offcuts."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    sku = Text(LONGEST_SKU, required=True)
    length = LengthField(required=True)
    first_picket = LengthField(kind="Length", load_default=absent)
    value = DecimalText(load_default=Decimal(0))
    note = Text(LONGEST_NOTE)


class OffcutQuery(PageQuery):
    """Query of GET /v1/offcuts, whose values are texts."""

    sku = Text(LONGEST_SKU)
    units = Choice(Units)


def names_of(offcuts: Iterable[Loaded]) -> list[str]:
    """Give the name of each offcut, by its number where it has none of its own."""
    return [
        offcut.get("name") or f"offcut {number}" for number, offcut in enumerate(offcuts, start=1)
    ]


def check_offcuts(data: Loaded, complaints: Complaints) -> None:
    """Note offcuts of no part that is cut, and names that are taken."""
    parts = [part for part in data["system"]["parts"] if part["stock"]]
    stock = {stock["sku"] for part in parts for stock in part["stock"]}
    known = stock | {part["sku"] for part in parts}
    complaints.add_repeated(("offcuts",), names_of(data["offcuts"]))
    for index, name in enumerate(names_of(data["offcuts"])):
        if data["offcuts"][index]["sku"] not in known:
            message = "No part of the system is cut from stock of this SKU."
            complaints.add(("offcuts", index, "sku"), message)
        if name in stock:
            complaints.add(("offcuts", index, "name"), "This is the SKU of a stock length.")


def offcuts_of(offcuts: list[Loaded]) -> tuple[Offcut, ...]:
    """Give the records of offcuts sent with a request."""
    return tuple(
        Offcut(name, one["sku"], one["length"], one["first_picket"], one["value"])
        for name, one in zip(names_of(offcuts), offcuts, strict=True)
    )


OFFCUT_REQUEST = OffcutRequest()
OFFCUT_QUERY = OffcutQuery()

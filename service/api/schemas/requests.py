"""The four request bodies; each loads into the order its use case takes.

Load with the instances below: making a schema costs more than a small load.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from marshmallow import fields, post_load

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.deck import DeckSchema
from service.api.schemas.deck_records import check_deck, deck_of
from service.api.schemas.fields import Choice, IsoDate, OneOf, Text
from service.api.schemas.pricing import PriceTableSchema, PricingSchema
from service.api.schemas.site import ConditionsSchema
from service.api.schemas.site_records import check_site, conditions_of
from service.api.schemas.structure import StructureSchema
from service.api.schemas.structure_records import check_structure, structure_of
from service.api.schemas.system import StockedSystemSchema, SystemSchema
from service.api.schemas.system_records import (
    check_prices,
    check_system,
    parts_of,
    prices_of,
    pricing_of,
    system_of,
)
from service.api.schemas.wish import WishSchema, preference_of
from service.usecases.orders import (
    CodeCheckOrder,
    CodeSelection,
    LayoutOrder,
    QuoteOrder,
    TakeoffOrder,
    Units,
    refuse_oversize,
)

Loaded = Mapping[str, Any]


class CodeByEdition(StrictSchema):
    """A code and its edition, such as IRC 2021."""

    code = Text(20, required=True)
    edition = Text(20, required=True)


class CodeByPlace(StrictSchema):
    """A place whose adoption says which code and edition is in force on the day."""

    place = Text(80, required=True)


def code_selection() -> OneOf:
    """Give the field that says which code to check."""
    return OneOf("", {"code": CodeByEdition, "place": CodeByPlace}, required=True)


class LayoutRequest(StrictSchema):
    """Body of POST /v1/layouts."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    deck = fields.Nested(DeckSchema, required=True)
    system = fields.Nested(SystemSchema, required=True)
    conditions = fields.Nested(ConditionsSchema, load_default=absent)
    wish = fields.Nested(WishSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        return LayoutOrder(**_job(data))


class CodeCheckRequest(LayoutRequest):
    """Body of POST /v1/code-checks."""

    code = code_selection()
    on = IsoDate(load_default=absent)
    structure = fields.Nested(StructureSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        return CodeCheckOrder(
            **_job(data),
            code=CodeSelection(**data["code"]),
            on=data["on"],
            structure=structure_of(data["structure"]),
        )


class TakeoffRequest(StrictSchema):
    """Body of POST /v1/takeoffs."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    deck = fields.Nested(DeckSchema, required=True)
    system = fields.Nested(StockedSystemSchema, required=True)
    conditions = fields.Nested(ConditionsSchema, load_default=absent)
    wish = fields.Nested(WishSchema, load_default=absent)
    price_table = fields.Nested(PriceTableSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        table = data["price_table"]
        return TakeoffOrder(
            **_job(data),
            parts=parts_of(data["system"]),
            prices=prices_of(table) if table is not None else None,
        )


class QuoteRequest(TakeoffRequest):
    """Body of POST /v1/quotes."""

    price_table = fields.Nested(PriceTableSchema, required=True)
    reference = Text(80)
    on = IsoDate(load_default=absent)
    code = code_selection()
    pricing = fields.Nested(PricingSchema, required=True)
    structure = fields.Nested(StructureSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        return QuoteOrder(
            **_job(data),
            parts=parts_of(data["system"]),
            prices=prices_of(data["price_table"]),
            code=CodeSelection(**data["code"]),
            pricing=pricing_of(data["pricing"]),
            on=data["on"],
            reference=data.get("reference", ""),
            structure=structure_of(data["structure"]),
        )


def _job(data: Loaded) -> dict[str, Any]:
    """Check what lies across members, then give the records every order has."""
    complaints = Complaints()
    check_deck(data["deck"], complaints)
    check_system(data["system"], complaints)
    check_site(data, complaints)
    check_structure(data.get("structure"), data["system"]["base"], complaints)
    if data.get("price_table") is not None:
        check_prices(data["price_table"], complaints)
    complaints.refuse()
    deck, system = deck_of(data["deck"]), system_of(data["system"])
    deck = replace(deck, conditions=conditions_of(data["conditions"]))
    refuse_oversize(deck, system)
    return {
        "deck": deck,
        "system": system,
        "units": Units(data["units"]),
        "preference": preference_of(data["wish"]),
    }


LAYOUT_REQUEST = LayoutRequest()
CODE_CHECK_REQUEST = CodeCheckRequest()
TAKEOFF_REQUEST = TakeoffRequest()
QUOTE_REQUEST = QuoteRequest()

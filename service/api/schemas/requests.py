"""The four request bodies; each loads into the order its use case takes.

Load with the instances below: making a schema costs more than a small load.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from marshmallow import fields, post_load

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.codes import MOST_CODES, check_selections, code_selection, selection_of
from service.api.schemas.customers import CustomerSchema, customer_of
from service.api.schemas.deck import DeckSchema
from service.api.schemas.deck_records import check_deck, deck_of
from service.api.schemas.facts import check_facts, site_of
from service.api.schemas.fields import Choice, IsoDate, Rows, Text, YesNo
from service.api.schemas.offcuts import MOST_OFFCUTS, OnHandSchema, check_offcuts, offcuts_of
from service.api.schemas.part_records import parts_of
from service.api.schemas.pricing import PriceTableSchema, PricingSchema
from service.api.schemas.pricing_records import check_pricing, pricing_of
from service.api.schemas.site import ConditionsSchema
from service.api.schemas.site_records import check_site, conditions_of
from service.api.schemas.stored import Referable
from service.api.schemas.structure import StructureSchema
from service.api.schemas.structure_records import check_structure, structure_of
from service.api.schemas.system import StockedSystemSchema, SystemSchema
from service.api.schemas.system_records import (
    check_prices,
    check_system,
    prices_of,
    system_of,
)
from service.api.schemas.wish import WishSchema, preference_of
from service.domain.pricing.price_table import PriceTable
from service.domain.pricing.settings import PricingSettings
from service.usecases.bounds import refuse_oversize
from service.usecases.orders import (
    CodeCheckOrder,
    LayoutOrder,
    QuoteOrder,
    TakeoffOrder,
    Units,
)

Loaded = Mapping[str, Any]


class LayoutRequest(StrictSchema):
    """Body of POST /v1/layouts."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    deck = fields.Nested(DeckSchema, required=True)
    system = Referable(fields.Nested(SystemSchema), "system", required=True)
    conditions = fields.Nested(ConditionsSchema, load_default=absent)
    wish = fields.Nested(WishSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        return LayoutOrder(**_job(data))


class CodeCheckRequest(LayoutRequest):
    """Body of POST /v1/code-checks: one code, or several to hold side by side."""

    code = code_selection()
    codes = Rows(code_selection(), 1, MOST_CODES)
    on = IsoDate(load_default=absent)
    structure = fields.Nested(StructureSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        job = _job(data, check_selections)
        wanted = data["codes"] if "codes" in data else [data["code"]]
        return CodeCheckOrder(
            **job,
            codes=tuple(selection_of(one) for one in wanted),
            on=data["on"],
            side_by_side="codes" in data,
            site=site_of(data["deck"], data["system"]),
            structure=structure_of(data["structure"]),
        )


class TakeoffRequest(StrictSchema):
    """Body of POST /v1/takeoffs."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    deck = fields.Nested(DeckSchema, required=True)
    system = Referable(fields.Nested(StockedSystemSchema), "system", required=True)
    conditions = fields.Nested(ConditionsSchema, load_default=absent)
    wish = fields.Nested(WishSchema, load_default=absent)
    price_table = Referable(fields.Nested(PriceTableSchema), "price_table", load_default=absent)
    offcuts = Rows(fields.Nested(OnHandSchema), 0, MOST_OFFCUTS, load_default=list)
    use_offcuts = YesNo(load_default=False)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        table = data["price_table"]
        return TakeoffOrder(
            **_job(data, check_offcuts),
            **_on_hand(data),
            parts=parts_of(data["system"]),
            prices=prices_of(table) if table is not None else None,
        )


class QuoteRequest(TakeoffRequest):
    """Body of POST /v1/quotes."""

    price_table = Referable(fields.Nested(PriceTableSchema), "price_table", required=True)
    reference = Text(80)
    outside_reference = Text(80)
    customer = fields.Nested(CustomerSchema, load_default=absent)
    draft = YesNo(load_default=False)
    on = IsoDate(load_default=absent)
    valid_until = IsoDate(load_default=absent)
    code = code_selection(required=True)
    pricing = Referable(fields.Nested(PricingSchema), "pricing", required=True)
    structure = fields.Nested(StructureSchema, load_default=absent)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        return QuoteOrder(
            **_job(data, check_selections, check_offcuts),
            **_on_hand(data),
            valid_until=data["valid_until"],
            parts=parts_of(data["system"]),
            prices=prices_of(data["price_table"]),
            code=selection_of(data["code"]),
            site=site_of(data["deck"], data["system"]),
            pricing=pricing_of(data["pricing"]),
            on=data["on"],
            reference=data.get("reference", ""),
            outside_reference=data.get("outside_reference", ""),
            customer=customer_of(data["customer"]),
            draft=data["draft"],
            structure=structure_of(data["structure"]),
        )


@dataclass(frozen=True, slots=True)
class Prices:
    """What a take-off is priced by; the day is None for today."""

    table: PriceTable
    pricing: PricingSettings
    units: Units
    on: date | None


class PricesRequest(StrictSchema):
    """Prices and rules for a take-off that comes as a sheet."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    price_table = Referable(fields.Nested(PriceTableSchema), "price_table", required=True)
    pricing = Referable(fields.Nested(PricingSchema), "pricing", required=True)
    on = IsoDate(load_default=absent)

    @post_load
    def to_prices(self, data: Loaded, **_: Any) -> Any:
        """Give what the sheet is priced by."""
        complaints = Complaints()
        check_prices(data["price_table"], complaints)
        check_pricing(data["pricing"], complaints)
        complaints.refuse()
        table, settings = prices_of(data["price_table"]), pricing_of(data["pricing"])
        return Prices(table, settings, Units(data["units"]), data["on"])


def _on_hand(data: Loaded) -> dict[str, Any]:
    return {"offcuts": offcuts_of(data["offcuts"]), "use_offcuts": data["use_offcuts"]}


def _job(data: Loaded, *more: Callable[[Loaded, Complaints], None]) -> dict[str, Any]:
    """Check what lies across members, then give the records every order has."""
    complaints = Complaints()
    for check in more:
        check(data, complaints)
    check_deck(data["deck"], complaints)
    check_facts(data["deck"], complaints)
    check_system(data["system"], complaints)
    check_site(data, complaints)
    check_structure(data.get("structure"), data["system"]["base"], complaints)
    if data.get("price_table") is not None:
        check_prices(data["price_table"], complaints)
    if data.get("pricing") is not None:
        check_pricing(data["pricing"], complaints)
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
PRICES_REQUEST = PricesRequest()

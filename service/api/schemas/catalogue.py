"""Bodies of what is kept to quote by: systems, pricing rules, amendments, price tables.

Each holds the very thing that a request would send, read by the same schema.
"""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields, post_load

from service.api.schemas.base import Complaints, StrictSchema
from service.api.schemas.codes import amendment_of, amendment_rows, check_amendments
from service.api.schemas.fields import IsoDate, Rows, Text, YesNo
from service.api.schemas.pages import PageQuery
from service.api.schemas.part_records import parts_of
from service.api.schemas.pricing import MOST_ROWS, PriceRowSchema, PricingSchema, currency
from service.api.schemas.pricing_records import check_pricing, pricing_of
from service.api.schemas.stored import LONGEST_NAME
from service.api.schemas.system import StockedSystemSchema
from service.api.schemas.system_records import check_rows, check_system, system_of
from service.domain.compliance.findings import Amendment
from service.domain.pricing.units import UNITS_OF_MEASURE

LONGEST_NOTE = 200
UUID = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"

Loaded = Mapping[str, Any]


class VersionRequest(StrictSchema):
    """What every version says of itself."""

    note = Text(LONGEST_NOTE, load_default=str)


class SystemVersionRequest(VersionRequest):
    """Body of POST /v1/systems/{system_id}/versions."""

    system = fields.Nested(StockedSystemSchema, required=True)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse what no request could use."""
        complaints = Complaints()
        check_system(data["system"], complaints)
        complaints.refuse()
        system_of(data["system"])
        parts_of(data["system"])
        return data


class KeptSystemRequest(SystemVersionRequest):
    """Body of POST /v1/systems."""

    name = Text(LONGEST_NAME, required=True)


class PricingVersionRequest(VersionRequest):
    """Body of POST /v1/pricing-rules/{rules_id}/versions."""

    pricing = fields.Nested(PricingSchema, required=True)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse what no request could use."""
        complaints = Complaints()
        check_pricing(data["pricing"], complaints)
        complaints.refuse()
        pricing_of(data["pricing"])
        return data


class PricingRulesRequest(PricingVersionRequest):
    """Body of POST /v1/pricing-rules."""

    name = Text(LONGEST_NAME, required=True)


class AmendmentsVersionRequest(VersionRequest):
    """Body of POST /v1/amendments/{set_id}/versions: for a place, or a code and edition."""

    place = Text(80)
    code = Text(20)
    edition = Text(20)
    default = YesNo(load_default=False)
    amendments = amendment_rows(required=True)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse what is for nothing, or for two things."""
        complaints = Complaints()
        check_amendments(data["amendments"], ("amendments",), complaints)
        by_code = "code" in data or "edition" in data
        if by_code == ("place" in data) or ("code" in data) != ("edition" in data):
            complaints.add(("place",), "Send either a place, or a code and its edition.")
        if data["default"] and "place" not in data:
            complaints.add(("default",), "Only amendments of a place apply unasked.")
        complaints.refuse()
        return data


class AmendmentSetRequest(AmendmentsVersionRequest):
    """Body of POST /v1/amendments."""

    name = Text(LONGEST_NAME, required=True)


class PriceTableVersionRequest(VersionRequest):
    """Body of POST /v1/price-tables/{table_id}/versions."""

    currency = currency()
    rows = Rows(fields.Nested(PriceRowSchema), 0, MOST_ROWS, load_default=list)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse rows that contradict each other, and units nobody can look up."""
        complaints = Complaints()
        check_kept_rows(data["rows"], complaints)
        complaints.refuse()
        return data


class KeptPriceTableRequest(PriceTableVersionRequest):
    """Body of POST /v1/price-tables."""

    name = Text(LONGEST_NAME, required=True)


class ActivationRequest(StrictSchema):
    """Body of POST /v1/price-tables/{table_id}/versions/{version}/activate."""

    begin = IsoDate(required=True, data_key="from")


class CatalogueQuery(PageQuery):
    """Query of what is kept to quote by, whose values are texts."""

    version = Text(7, pattern="^[1-9][0-9]{0,6}$", advice="Write the number of a version.")
    since = Text(7, pattern="^[1-9][0-9]{0,6}$", advice="Write the number of a version.")


def check_kept_rows(rows: list[Any], complaints: Complaints) -> None:
    """Note what is wrong between rows of a table that is to be kept, and in their units."""
    check_rows(rows, ("rows",), complaints)
    for index, row in enumerate(rows):
        unit = row["unit_of_measure"]
        if unit not in UNITS_OF_MEASURE:
            message = f"{unit} is no unit that is quoted in; use {', '.join(UNITS_OF_MEASURE)}."
            complaints.add(("rows", index, "unit_of_measure"), message)


def default_place(wish: Loaded) -> str:
    """Give the place a set of amendments applies to unasked, "" for none."""
    return wish["place"].strip().lower() if wish["default"] else ""


def amendments_of(wish: Loaded) -> tuple[Amendment, ...]:
    """Give the records of amendments that are to be kept."""
    return tuple(amendment_of(one) for one in wish["amendments"])


_SYSTEM = StockedSystemSchema()
_PRICING = PricingSchema()
_ROW = PriceRowSchema()
_AMENDMENTS = AmendmentsVersionRequest()


def system_kept(body: Any, _name: str, _number: int) -> Any:
    """Load a kept system as a request's would be."""
    return _SYSTEM.load(body)


def pricing_kept(body: Any, _name: str, _number: int) -> Any:
    """Load kept pricing rules as a request's would be."""
    return _PRICING.load(body)


def amendments_kept(body: Any, name: str, number: int) -> Any:
    """Load kept amendments as a request's would be, each with the name of its set."""
    by = f'the set "{name}", version {number}'
    return [{**one, "by": by} for one in _AMENDMENTS.load(body)["amendments"]]

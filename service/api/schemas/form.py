"""What the quote form of a dealer is set to, and what it sends."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields, post_load

from service.api.address_decks import MOST_SIDES, SIDE_WORDS
from service.api.schemas.base import Complaints, StrictSchema
from service.api.schemas.codes import check_amendments, code_selection
from service.api.schemas.customers import CustomerSchema
from service.api.schemas.deck import DeckSchema
from service.api.schemas.fields import Choice, Text
from service.api.schemas.stored import StoredReferenceSchema
from service.domain.layout.deck import Footing
from service.quantities import LONGEST_TEXT
from service.usecases.orders import Units

_HEADING = 80
_LONGEST_CONTACT = 120
_ENTRY = f"[^;\\u0000-\\u001f]{{1,{LONGEST_TEXT}}}"
LIST_PATTERN = f"^{_ENTRY}(?:;{_ENTRY}){{0,{MOST_SIDES}}}$"
_LONGEST_LIST = (LONGEST_TEXT + 1) * (MOST_SIDES + 1)
TOTALS = ("gross", "net", "tax")
FORMATS = ("number", "csv")

Loaded = Mapping[str, Any]


def _listed(*, required: bool = False) -> Text:
    advice = f"Write 1 to {MOST_SIDES + 1} entries with semicolons between, none of them empty."
    return Text(_LONGEST_LIST, pattern=LIST_PATTERN, advice=advice, required=required)


class FormSettingsRequest(StrictSchema):
    """Body of PUT /v1/form-settings."""

    heading = Text(_HEADING)
    units = Choice(Units, load_default=Units.IMPERIAL.value)
    system = fields.Nested(StoredReferenceSchema, required=True)
    price_table = fields.Nested(StoredReferenceSchema, required=True)
    pricing = fields.Nested(StoredReferenceSchema, required=True)
    code = code_selection(required=True)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse deletions that delete nothing."""
        complaints = Complaints()
        check_amendments(data["code"]["amendments"], ("code", "amendments"), complaints)
        complaints.refuse()
        return data


class EstimateRequest(StrictSchema):
    """Body of POST /v1/estimates: a deck; all else is in the dealer's form settings."""

    units = Choice(Units)
    deck = fields.Nested(DeckSchema, required=True)


class ContactSchema(CustomerSchema):
    """Who asks, and how to reach them: by e-mail or by telephone."""

    name = Text(_LONGEST_CONTACT, required=True)

    @post_load
    def check(self, data: Loaded, **_: Any) -> Loaded:
        """Refuse a contact that cannot be reached."""
        if "email" not in data and "phone" not in data:
            complaints = Complaints()
            complaints.add(("email",), "Write an e-mail address, or a telephone number instead.")
            complaints.refuse()
        return data


class InquiryRequest(EstimateRequest):
    """Body of POST /v1/inquiries: a deck, and whose it is."""

    contact = fields.Nested(ContactSchema, required=True)


class AddressEstimateQuery(StrictSchema):
    """Query of GET /v1/estimates, whose values are texts; lists have semicolons between."""

    sides = _listed(required=True)
    falls = _listed(required=True)
    turns = _listed()
    edges = _listed()
    stair_side = Text(2, pattern="^[1-9][0-9]?$", advice="Write the number of the side.")
    stair_risers = Text(3, pattern="^[1-9][0-9]{0,2}$", advice="Write how many, such as 6.")
    stair_width = Text(LONGEST_TEXT)
    stair_run = Text(LONGEST_TEXT)
    stair_rise = Text(LONGEST_TEXT)
    stair_nosing = Text(LONGEST_TEXT)
    stair_offset = Text(LONGEST_TEXT)
    stair_guards = Choice(SIDE_WORDS)
    stair_bottom = Choice(Footing)
    units = Choice(Units)
    total = Choice(TOTALS, load_default=TOTALS[0])
    format = Choice(FORMATS)
    key = Text(200)


ADDRESS_ESTIMATE = AddressEstimateQuery()
FORM_SETTINGS_REQUEST = FormSettingsRequest()
ESTIMATE_REQUEST = EstimateRequest()
INQUIRY_REQUEST = InquiryRequest()

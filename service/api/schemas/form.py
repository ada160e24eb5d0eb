"""What the quote form of a dealer is set to, and what it sends."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields, post_load

from service.api.schemas.base import Complaints, StrictSchema
from service.api.schemas.codes import check_amendments, code_selection
from service.api.schemas.customers import CustomerSchema
from service.api.schemas.deck import DeckSchema
from service.api.schemas.fields import Choice, Text
from service.api.schemas.stored import StoredReferenceSchema
from service.usecases.orders import Units

_HEADING = 80
_LONGEST_CONTACT = 120

Loaded = Mapping[str, Any]


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


FORM_SETTINGS_REQUEST = FormSettingsRequest()
ESTIMATE_REQUEST = EstimateRequest()
INQUIRY_REQUEST = InquiryRequest()

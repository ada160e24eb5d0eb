"""What may be asked of a list of quotes."""

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import IsoDate, Text
from service.api.schemas.pages import PageQuery
from service.domain.pricing.life import State

_STATES = "|".join(State)


class QuoteQuery(PageQuery):
    """Query of GET /v1/quotes, whose values are texts."""

    state = Text(
        80,
        pattern=f"^(?:{_STATES})(?:,(?:{_STATES})){{0,5}}$",
        advice=f"Write one or several of {', '.join(State)}, with commas between.",
    )
    reference = Text(80)
    outside_reference = Text(80)
    text = Text(80)
    series = Text(
        36,
        pattern="^[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$",
        advice="Send the id of the first quote of a series.",
    )
    made_from = IsoDate()
    made_to = IsoDate()


class ChangesQuery(StrictSchema):
    """Query of GET /v1/quotes/{id}/changes."""

    since = Text(
        36,
        pattern="^[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$",
        advice="Send the id of a quote.",
    )


QUOTE_QUERY = QuoteQuery()
CHANGES_QUERY = ChangesQuery()

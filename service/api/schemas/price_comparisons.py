"""The request of a price comparison: one whole quote request, and changes of it."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, validates_schema

from service.api.schemas.base import Complaints, StrictSchema
from service.api.schemas.fields import Rows, StrictField, Text
from service.api.schemas.requests import QuoteRequest
from service.domain.errors import Where

MOST_ALTERNATIVES = 8


class Unread(fields.Nested):
    """An object that is described here, and read where it is used."""

    def _deserialize(
        self, value: Any, attr: Any, data: Any, partial: Any = None, **kwargs: Any
    ) -> Any:
        if not isinstance(value, Mapping):
            raise ValidationError("Send an object.")
        return value


class MergePatch(StrictField[Mapping[str, Any]]):
    """A JSON merge patch of an object (RFC 7396)."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Mapping[str, Any]:
        if not isinstance(value, Mapping):
            raise ValidationError("Send an object that holds only the members that change.")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Describe an object of any members."""
        return {"type": "object"}


class AlternativeSchema(StrictSchema):
    """Another way to do the job."""

    name = Text(80, required=True)
    changes = MergePatch(required=True)


class PriceComparisonRequest(StrictSchema):
    """Body of POST /v1/price-comparisons."""

    quote = Unread(QuoteRequest, required=True)
    name = Text(80, required=True)
    alternatives = Rows(fields.Nested(AlternativeSchema), 1, MOST_ALTERNATIVES, required=True)

    @validates_schema
    def check_names(self, data: Mapping[str, Any], **_: Any) -> None:
        """Refuse a name that stands for two ways."""
        names = [data["name"], *(one["name"] for one in data["alternatives"])]
        complaints = Complaints()
        for index, name in enumerate(names[1:]):
            if name in names[: index + 1]:
                message = f"{name!r} is taken; give each its own name."
                complaints.add(("alternatives", index, "name"), message)
        complaints.refuse()


PRICE_COMPARISON_REQUEST = PriceComparisonRequest()


def sent_at(where: Where, quote: Any, changes: Any, index: int) -> Where:
    """Tell where a member of a changed quote request was sent.

    Args:
        where: Its path in the request as changed.
        quote: The request that was changed.
        changes: The merge patch.
        index: Of the alternative.

    Example:
        >>> sent_at(("pricing", "taxes", 0), {"pricing": {"taxes": []}}, {"pricing": {}}, 1)
        ('quote', 'pricing', 'taxes', 0)
        >>> sent_at(("units",), {"units": "metric"}, {"units": "feet"}, 1)
        ('alternatives', 1, 'changes', 'units')
    """
    for step in where:
        if not isinstance(changes, Mapping):
            break
        kept = isinstance(quote, Mapping) and step in quote
        if step not in changes:
            if kept:
                return ("quote", *where)
            break
        changes, quote = changes[step], quote[step] if kept else None
    return ("alternatives", index, "changes", *where)

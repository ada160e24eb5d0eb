"""References to what a dealer keeps: wherever one may stand, the thing itself may be sent."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from copy import deepcopy
from typing import Any

from marshmallow import ValidationError, fields

from service.api.schemas.base import FIELD_MESSAGES, StrictSchema
from service.api.schemas.fields import JsonInt, StrictField, Text

LONGEST_NAME = 80
LARGEST_VERSION = 1_000_000

Key = tuple[str, str, int]  # (kind, id, version)
_kept: ContextVar[Mapping[Key, Any]] = ContextVar("what is kept")


class StoredReferenceSchema(StrictSchema):
    """Something kept under this dealer, by its name or id."""

    stored = Text(LONGEST_NAME, required=True)
    version = JsonInt(1, LARGEST_VERSION)


REFERENCE = StoredReferenceSchema()


def names_stored(value: Any) -> bool:
    """Tell a reference from the thing itself."""
    return isinstance(value, Mapping) and "stored" in value


class Referable(StrictField[Any]):
    """A member that is sent whole, or named where it is kept.

    Attributes:
        inline: The field that reads the thing itself.
        kind: What is kept, as its store calls it.
    """

    def __init__(self, inline: fields.Field[Any], kind: str, **options: Any) -> None:
        super().__init__(**options)
        self.inline = inline
        self.kind = kind
        self.reference = REFERENCE

    def _bind_to_schema(self, field_name: str, parent: Any) -> None:
        super()._bind_to_schema(field_name, parent)
        self.inline = deepcopy(self.inline)
        self.inline._bind_to_schema(field_name, self)
        self.inline.error_messages.update(FIELD_MESSAGES)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not names_stored(value):
            return self.inline.deserialize(value, attr, data, **kwargs)
        named = self.reference.load(value)
        key = (self.kind, named["stored"], named.get("version", 0))
        try:
            return _kept.get({})[key]
        except KeyError:
            raise ValidationError("Nothing is kept here; send the whole.") from None

    def json_schema(self) -> dict[str, Any]:
        """Describe nothing here: ``openapi_fields`` describes both forms."""
        return {}


@contextmanager
def kept_is(things: Mapping[Key, Any]) -> Iterator[None]:
    """Let references find what was looked up for them, as its own schema loaded it."""
    token = _kept.set(things)
    try:
        yield
    finally:
        _kept.reset(token)

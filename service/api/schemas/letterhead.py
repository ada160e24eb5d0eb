"""A dealer's letterhead as it is sent."""

import base64
import binascii
from collections.abc import Mapping
from io import BytesIO
from typing import Any

from marshmallow import ValidationError, post_load
from PIL import Image

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import Rows, Text
from service.usecases.letterhead import Letterhead

_LINE = 120
_FOOTER = 1000
_MOST_LINES = 8
_LOGO = 800_000  # letters of base64


class LogoField(Text):
    """A PNG in base64 (RFC 4648, section 4)."""

    def __init__(self) -> None:
        super().__init__(_LOGO, pattern="^[A-Za-z0-9+/]+={0,2}$", advice="Send a PNG in base64.")

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            content = base64.b64decode(text, validate=True)
            Letterhead("", logo=content)
        except (binascii.Error, ValueError) as error:
            raise ValidationError(f"{error}") from error
        _unfold(content)
        return content


def _unfold(content: bytes) -> None:
    """Refuse a picture that breaks off; its size is bounded by now."""
    try:
        with Image.open(BytesIO(content), formats=["PNG"]) as picture:
            picture.load()
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise ValidationError("The logo is a damaged PNG file: send it again.") from error


class LetterheadRequest(StrictSchema):
    """Body of PUT /v1/letterhead."""

    name = Text(_LINE, required=True)
    address = Rows(Text(_LINE), 0, _MOST_LINES, load_default=list)
    contact = Rows(Text(_LINE), 0, _MOST_LINES, load_default=list)
    registration = Text(_LINE)
    footer = Text(_FOOTER)
    logo = LogoField()

    @post_load
    def record(self, data: Mapping[str, Any], **_kwargs: Any) -> Letterhead:
        """Make the record."""
        return Letterhead(
            name=data["name"],
            address=tuple(data["address"]),
            contact=tuple(data["contact"]),
            registration=data.get("registration", ""),
            footer=data.get("footer", ""),
            logo=data.get("logo", b""),
        )


LETTERHEAD_REQUEST = LetterheadRequest()

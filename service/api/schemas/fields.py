"""Strict fields: each takes exactly what its published JSON Schema describes.

marshmallow's own fields read "1_000" as an integer, "yes" as true, "20261101" as a date and
"1e999999" as a decimal; none of that belongs in a price or a measurement.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, TypeVar

from marshmallow import Schema, ValidationError, fields
from marshmallow.validate import Length as Count

from service.api.answers.words import one_of
from service.domain.lengths import MILLIMETRE
from service.quantities import UnreadableLength, length_of, parse_length

Value = TypeVar("Value")
LEAST_NUMBER = 0.000001  # of a length over zero in any unit: one nanometre in the smallest unit

# No control characters: a database may refuse NUL, and a printed quote has one line per name.
TEXT_PATTERN = r"^[^\u0000-\u0020\u007f-\u00a0][^\u0000-\u001f\u007f-\u009f]*$"
VISIBLE_TEXT = re.compile(
    r"[^\u0000-\u0020\u007f-\u00a0\ud800-\udfff][^\u0000-\u001f\u007f-\u009f\ud800-\udfff]*"
)


class StrictField(fields.Field[Value]):
    """A field that publishes its own JSON Schema."""

    def json_schema(self) -> dict[str, Any]:
        """Describe what the field takes, in JSON Schema 2020-12."""
        raise NotImplementedError


class Text(StrictField[str]):
    """One line of text that starts with a visible character."""

    def __init__(self, most: int, *, pattern: str = "", advice: str = "", **options: Any) -> None:
        super().__init__(**options)
        self.most = most
        self.pattern = pattern
        self.advice = advice
        self._pattern = re.compile(pattern) if pattern else VISIBLE_TEXT

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError("Send a text, in quotes.")
        if not value or len(value) > self.most or not self._pattern.fullmatch(value):
            raise ValidationError(
                self.advice
                or f"Write one line of 1 to {self.most} characters that starts with a visible one, "
                "without control characters or half surrogates."
            )
        return value

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {
            "type": "string",
            "minLength": 1,
            "maxLength": self.most,
            "pattern": self.pattern or TEXT_PATTERN,
        }


class DrawingText(StrictField[str]):
    """The text of a file; what is in it is for its reader to judge."""

    def __init__(self, most: int, **options: Any) -> None:
        super().__init__(**options)
        self.most = most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError("Send the file's text, in quotes.")
        if not 1 <= len(value) <= self.most:
            raise ValidationError(f"Send a file of 1 to {self.most:,} characters.")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {"type": "string", "minLength": 1, "maxLength": self.most}


class Choice(StrictField[str]):
    """One of a few words."""

    def __init__(self, choices: Iterable[str], *, title: str = "", **options: Any) -> None:
        super().__init__(**options)
        self.choices = tuple(str(choice) for choice in choices)
        self._described = one_of(choices, name=title)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str) or value not in self.choices:
            raise ValidationError(f"Use one of: {', '.join(self.choices)}.")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Describe the words."""
        return self._described


class YesNo(StrictField[bool]):
    """A JSON true or false, nothing that resembles it."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError("Send true or false, without quotes.")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Describe the flag."""
        return {"type": "boolean"}


class JsonInt(StrictField[int]):
    """A whole JSON number; 7.0 is one too, as JSON Schema has it."""

    def __init__(self, least: int, most: int, **options: Any) -> None:
        super().__init__(**options)
        self.least = least
        self.most = most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        if isinstance(value, bool) or not whole:
            raise ValidationError("Send a whole number, without quotes.")
        if not self.least <= value <= self.most:
            raise ValidationError(f"Send a whole number from {self.least} to {self.most}.")
        return int(value)

    def json_schema(self) -> dict[str, Any]:
        """Describe the number."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


class DecimalText(StrictField[Decimal]):
    """An exact decimal, sent as text because a JSON number would be rounded to binary."""

    pattern = r"^[0-9]{1,9}(?:\.[0-9]{1,6})?$"
    advice = 'Write a plain decimal in quotes, such as "12.40": up to 9 digits, 6 decimals.'

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Decimal:
        if not isinstance(value, str) or not re.fullmatch(self.pattern, value):
            raise ValidationError(self.advice)
        return Decimal(value)

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str:
        return str(value)  # how the document prints a default

    def json_schema(self) -> dict[str, Any]:
        """Describe the text."""
        return {"type": "string", "pattern": self.pattern, "maxLength": 16}


class Fraction(DecimalText):
    """A part of one, such as a tax rate."""

    pattern = r"^(?:0(?:\.[0-9]{1,6})?|1(?:\.0{1,6})?)$"
    advice = 'Write a fraction of one in quotes, such as "0.0625" for 6.25 %.'


class IsoDate(StrictField[date]):
    """A calendar date, year-month-day."""

    pattern = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> date:
        if not isinstance(value, str) or not re.fullmatch(self.pattern, value):
            raise ValidationError('Write a date as year-month-day, such as "2026-11-25".')
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise ValidationError(f"{value} is not in the calendar.") from None

    def json_schema(self) -> dict[str, Any]:
        """Describe the date."""
        return {"type": "string", "format": "date", "pattern": self.pattern}


class Moment(StrictField[datetime]):
    """A moment with its distance from UTC (RFC 3339)."""

    pattern = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}(?:\.[0-9]{1,6})?(?:Z|[+-][0-9]{2}:[0-9]{2})$"

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> datetime:
        try:
            if isinstance(value, str) and re.fullmatch(self.pattern, value):
                return datetime.fromisoformat(value).astimezone(UTC)
        except (ValueError, OverflowError):
            pass
        raise ValidationError('Write a moment such as "2026-11-25T14:30:00Z".')

    def json_schema(self) -> dict[str, Any]:
        """Describe the moment."""
        return {"type": "string", "format": "date-time", "pattern": self.pattern}


class Angle(StrictField[float]):
    """Degrees as a JSON number or a plain decimal text, strictly between two bounds."""

    def __init__(self, least: int, most: int, pattern: str, **options: Any) -> None:
        super().__init__(**options)
        self.least = least
        self.most = most
        self.pattern = pattern

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if isinstance(value, str) and re.fullmatch(self.pattern, value):
            angle = float(value.replace("\u2212", "-").rstrip("°"))
        elif isinstance(value, int | float) and not isinstance(value, bool):
            angle = value
        else:
            raise ValidationError("Send degrees as a number, such as 90 or 22.5.")
        if not self.least < angle < self.most:
            raise ValidationError(f"Send degrees between {self.least} and {self.most}.")
        return float(angle)

    def json_schema(self) -> dict[str, Any]:
        """Describe both forms."""
        bounds = {"exclusiveMinimum": self.least, "exclusiveMaximum": self.most}
        text = {"type": "string", "pattern": self.pattern, "maxLength": 16}
        return {"anyOf": [{"type": "number", **bounds}, text]}


def turn(**options: Any) -> Angle:
    """Give a turning angle, left positive."""
    pattern = r"^[\-\u2212]?(?:1[0-7][0-9]|[0-9]{1,2})(?:\.[0-9]{1,9})?°?$"
    return Angle(-180, 180, pattern, **options)


def steepness(**options: Any) -> Angle:
    """Give an angle of a slope."""
    return Angle(0, 90, r"^(?:[1-9]|[1-8][0-9])(?:\.[0-9]{1,9})?°?$", **options)


class LengthField(StrictField[int]):
    """A length with its unit, as text or as value and unit, to nanometres.

    Attributes:
        kind: "Length", "PositiveLength" or "Coordinate": the component that describes it.
    """

    def __init__(self, *, kind: str = "PositiveLength", **options: Any) -> None:
        super().__init__(**options)
        self.kind = kind

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        signed = self.kind == "Coordinate"
        try:
            if isinstance(value, str):
                length_nm = parse_length(value, signed=signed)
            else:
                length_nm = _from_object(value, signed)
        except UnreadableLength as error:
            raise ValidationError(str(error)) from None
        positive = length_nm > 0 and not _is_trifle(value)
        if not positive and self.kind == "PositiveLength":
            raise ValidationError("This length must be more than zero.")
        return length_nm

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str:
        return f"{Decimal(value) / MILLIMETRE} mm"  # how the document prints a default

    def json_schema(self) -> dict[str, Any]:
        """Point to the component that describes lengths of this kind."""
        return {"$ref": f"#/components/schemas/{self.kind}"}


def _is_trifle(value: Any) -> bool:
    """Tell whether a JSON number lies below what the document publishes as more than zero."""
    number = value["value"] if isinstance(value, Mapping) else None
    return isinstance(number, int | float) and number < LEAST_NUMBER


def _from_object(value: Any, signed: bool) -> int:
    if isinstance(value, int | float):
        raise UnreadableLength('A unit is required: write a text such as "5.5 in" or "140 mm".')
    if not isinstance(value, Mapping) or value.keys() != {"value", "unit"}:
        raise UnreadableLength('Write a length as text or as {"value": "5.5", "unit": "in"}.')
    number, unit = value["value"], value["unit"]
    if not isinstance(unit, str):
        raise UnreadableLength("The unit is a text such as in, ft, mm or m.")
    if isinstance(number, bool) or not isinstance(number, str | int | float):
        raise UnreadableLength("The value is a number, or a text that holds one.")
    return length_of(number, unit, signed=signed)


class Rows(fields.List[Any]):
    """A list whose length is bounded before anything in it is read."""

    def __init__(self, inner: fields.Field[Any], least: int, most: int, **options: Any) -> None:
        bounds = Count(least, most, error="Send from {min} to {max} entries.")
        super().__init__(inner, validate=bounds, **options)
        self.most = most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise ValidationError("Send a list.")
        if len(value) > self.most:
            raise ValidationError(f"Send at most {self.most} entries.")
        return super()._deserialize(value, attr, data, **kwargs)


class OneOf(StrictField[dict[str, Any]]):
    """An object of one of several shapes, told apart by a word in it or by a member it has.

    Attributes:
        by: Member that holds the word, "" where the member names themselves tell.
        shapes: Schema for each word or member name.
    """

    def __init__(self, by: str, shapes: Mapping[str, type[Schema]], **options: Any) -> None:
        super().__init__(**options)
        self.by = by
        self.shapes = {word: shape() for word, shape in shapes.items()}

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise ValidationError("Send an object.")
        words = ", ".join(self.shapes)
        if self.by:
            word = value.get(self.by)
            if not isinstance(word, str) or word not in self.shapes:
                raise ValidationError({self.by: [f"Use one of: {words}."]})
        else:
            found = [word for word in self.shapes if word in value]
            if len(found) != 1:
                raise ValidationError(f"Send exactly one of: {words}.")
            word = found[0]
        loaded: dict[str, Any] = self.shapes[word].load(value)
        return loaded

    def json_schema(self) -> dict[str, Any]:
        """Describe nothing here: the shapes are components, which ``openapi_fields`` refers to."""
        return {}

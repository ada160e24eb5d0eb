"""What a rule asks of the elements it counts: words of attributes, bands of measures."""

import re
from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from service.api.schemas.fields import TEXT_PATTERN, VISIBLE_TEXT, LengthField, StrictField
from service.domain.takeoff.kinds import MEASURES, is_angle, thousandths
from service.domain.takeoff.parts import Band, Condition


class Degrees(StrictField[int]):
    """The size of an angle as a JSON number, to thousandths of a degree."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not 0 <= value <= 180:
            raise ValidationError("Send degrees from 0 to 180 as a number, such as 22.5.")
        return thousandths(value)

    def json_schema(self) -> dict[str, Any]:
        """Describe the number."""
        return {"type": "number", "minimum": 0, "maximum": 180}


_ENDS = {measure: Degrees() if is_angle(measure) else LengthField(kind="Length")
         for measure in sorted(MEASURES)}  # fmt: skip


class Conditions(StrictField[dict[str, Condition]]):
    """Conditions on elements, by name of the attribute or measure.

    An attribute takes a word, or a list of the words allowed; a measure takes the band it lies
    in: "from" an end that belongs to it, "to" one that does not, or either alone.
    """

    name_pattern = "^[a-z_]{1,20}$"
    most = 8
    most_words = 20
    longest = 80

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> dict[str, Condition]:
        if not isinstance(value, Mapping) or len(value) > self.most:
            raise ValidationError(f"Send an object of at most {self.most} conditions.")
        wrong: dict[str, Any] = {}
        conditions: dict[str, Condition] = {}
        for name, asked in value.items():
            try:
                conditions[name] = self._band(name, asked) if name in _ENDS else self._words(asked)
            except ValidationError as error:
                wrong[name] = error.messages
            if not re.fullmatch(self.name_pattern, name):
                wrong[name] = ["This is not the name of an attribute."]
        if wrong:
            raise ValidationError(wrong)
        return conditions

    def _band(self, measure: str, asked: Any) -> Band:
        if not isinstance(asked, Mapping) or not asked or not asked.keys() <= {"from", "to"}:
            raise ValidationError(
                f"{measure} is a measure: send a band, an object with from, to or both."
            )
        ends = {end: _ENDS[measure].deserialize(value) for end, value in asked.items()}
        return Band(ends.get("from"), ends.get("to"))

    def _words(self, asked: Any) -> tuple[str, ...]:
        listed = [asked] if isinstance(asked, str) else asked
        if not self._are_words(listed):
            raise ValidationError("Send a word or a list of 1 to 20 words, 80 characters at most.")
        return tuple(listed)

    def _are_words(self, words: Any) -> bool:
        return (
            isinstance(words, list)
            and 1 <= len(words) <= self.most_words
            and all(
                isinstance(w, str) and len(w) <= self.longest and VISIBLE_TEXT.fullmatch(w)
                for w in words
            )
        )

    def json_schema(self) -> dict[str, Any]:
        """Describe the object."""
        word = {"type": "string", "maxLength": self.longest, "pattern": TEXT_PATTERN}
        words = {"type": "array", "items": word, "minItems": 1, "maxItems": self.most_words}
        return {
            "title": "ElementConditions",
            "type": "object",
            "maxProperties": self.most,
            "propertyNames": {"pattern": self.name_pattern},
            "properties": {measure: _band_schema(end) for measure, end in _ENDS.items()},
            "additionalProperties": {"anyOf": [word, words]},
        }


def _band_schema(end: StrictField[int]) -> dict[str, Any]:
    return {
        "title": "AngleBand" if isinstance(end, Degrees) else "LengthBand",
        "type": "object",
        "properties": {"from": end.json_schema(), "to": end.json_schema()},
        "minProperties": 1,
        "additionalProperties": False,
    }

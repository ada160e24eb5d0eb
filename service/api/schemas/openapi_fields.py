"""How the strict fields and one-of shapes appear in the OpenAPI document."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from marshmallow import Schema, fields

from service.api.answers.words import one_of, ref
from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import LEAST_NUMBER, OneOf, StrictField
from service.api.schemas.stored import Referable
from service.quantities import (
    EXAMPLES,
    LONGEST_TEXT,
    UNIT_NAMES,
    WHOLE_DIGITS,
    length_pattern,
    number_pattern,
)

MEMBERS = Path(__file__).parents[2] / "data" / "api" / "members.yaml"

# Every accepted length but zero has one of these in it.
_MORE_THAN_ZERO = "[1-9½¼¾⅛⅜⅝⅞]"


class _ClosedConverter(OpenAPIConverter):
    """A converter that says of every strict schema that it refuses unknown members.

    apispec says so only of a schema without a description.
    """

    def schema2jsonschema(self, schema: Schema) -> dict[str, Any]:
        described: dict[str, Any] = super().schema2jsonschema(schema)  # type: ignore[no-untyped-call]
        if isinstance(schema, StrictSchema):
            described["additionalProperties"] = False
        return described


class StrictPlugin(MarshmallowPlugin):
    """The plugin that knows strict schemas."""

    Converter = _ClosedConverter


def describe_fields(spec: APISpec, plugin: MarshmallowPlugin) -> None:
    """Teach a document's converter the strict fields, and add the components they point to.

    Call it once, before any schema is added to the document.
    """
    for name, schema in length_components().items():
        spec.components.schema(name, schema)
    plugin.converter.add_attribute_function(_describe)  # type: ignore[union-attr]
    plugin.converter.add_attribute_function(_explain)  # type: ignore[union-attr]


@cache
def explanations() -> Mapping[str, Mapping[str, str]]:
    """Give what each member of a request means, by the name of its schema's class."""
    table: Mapping[str, Mapping[str, str]] = yaml.safe_load(MEMBERS.read_text())
    return table


def _explain(_converter: Any, field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """Describe a member by the nearest schema that explains it."""
    if not isinstance(field.parent, StrictSchema):  # an entry of a list
        return {}
    name = field.data_key or field.name or ""
    for schema in type(field.parent).__mro__:
        if name in explanations().get(schema.__name__, {}):
            return {"description": explanations()[schema.__name__][name]}
    return {}


def _describe(converter: Any, field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    if not isinstance(field, StrictField):
        return {}
    if isinstance(field, Referable):
        forms = (field.inline, fields.Nested(field.reference))
        return {"oneOf": [converter.field2property(form) for form in forms]}
    if not isinstance(field, OneOf):
        return field.json_schema()
    shapes = {
        word: converter.resolve_nested_schema(schema) for word, schema in field.shapes.items()
    }
    described: dict[str, Any] = {"oneOf": list(shapes.values())}
    if field.by:
        mapping = {word: shape["$ref"] for word, shape in shapes.items()}
        described["discriminator"] = {"propertyName": field.by, "mapping": mapping}
    return described


def length_components() -> dict[str, dict[str, Any]]:
    """Give the components that describe a length, a positive length and a coordinate."""
    return {
        "LengthUnit": {"description": "A unit of length.", **one_of(UNIT_NAMES)},
        **_length("Length", "A length with its unit, zero or more."),
        **_length("PositiveLength", "A length with its unit, more than zero."),
        **_length("Coordinate", "A plan coordinate with its unit."),
    }


def _length(kind: str, description: str) -> dict[str, dict[str, Any]]:
    signed, positive = kind == "Coordinate", kind == "PositiveLength"
    text = {
        "type": "string",
        "maxLength": LONGEST_TEXT,
        "pattern": length_pattern(signed=signed),
        **_more_than_zero(positive),
        "examples": list(EXAMPLES),
    }
    valued = {
        "description": f"{description.removesuffix('.')}, as value and unit.",
        "type": "object",
        "properties": {
            "value": {"anyOf": [{"type": "string"}, {"type": "number"}]},
            "unit": ref("LengthUnit"),
        },
        "required": ["value", "unit"],
        "additionalProperties": False,
        **_by_unit(signed, positive),
    }
    either = {"description": description, "anyOf": [text, ref(f"{kind}Value")]}
    return {kind: either, f"{kind}Value": valued}


def _by_unit(signed: bool, positive: bool) -> dict[str, Any]:
    """Bound the value by its unit; a generator that knows no conditions leaves them out."""
    spellings: dict[str, list[str]] = {}
    for spelling, unit in UNIT_NAMES.items():
        spellings.setdefault(unit, []).append(spelling)
    bounds: dict[str, Any] = {}
    for units in spellings.values():
        value = {"properties": {"value": _value(units[0], signed, positive)}}
        asked = {"properties": {"unit": {"enum": units}}}
        bounds = {"if": asked, "then": value, "else": bounds} if bounds else value
    return bounds


def _value(unit: str, signed: bool, positive: bool) -> dict[str, Any]:
    bound = 10 ** WHOLE_DIGITS[UNIT_NAMES[unit]]
    number: dict[str, Any] = {"type": "number", "exclusiveMaximum": bound}
    if signed:
        number["exclusiveMinimum"] = -bound
    else:
        number["minimum"] = LEAST_NUMBER if positive else 0
    pattern = number_pattern(unit, signed=signed)
    return {"anyOf": [{"type": "string", "pattern": pattern, **_more_than_zero(positive)}, number]}


def _more_than_zero(positive: bool) -> dict[str, Any]:
    return {"allOf": [{"pattern": _MORE_THAN_ZERO}]} if positive else {}

"""Every member of a request is explained in the API document, and nothing else is."""

import pytest

from service.api.schemas.base import StrictSchema
from service.api.schemas.openapi_fields import MEMBERS, explanations
from service.api.schemas.requests import QUOTE_REQUEST


def schemas_below(schema):
    for below in schema.__subclasses__():
        yield below
        yield from schemas_below(below)


SCHEMAS = {schema.__name__: schema for schema in schemas_below(StrictSchema)}


def members_of(schema):
    return {field.data_key or name for name, field in schema._declared_fields.items()}


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_member_is_explained(name):
    explained = set()
    for schema in SCHEMAS[name].__mro__:
        explained |= explanations().get(schema.__name__, {}).keys()
    assert members_of(SCHEMAS[name]) <= explained, f"explain the others in {MEMBERS.name}"


@pytest.mark.parametrize("name", explanations())
def test_nothing_is_explained_that_is_not_there(name):
    assert explanations()[name].keys() <= members_of(SCHEMAS[name])


def test_every_schema_says_what_it_describes():
    assert all(schema.Meta.description for schema in SCHEMAS.values())


def test_the_document_prints_both(app):
    schemas = app.extensions["openapi"].spec.to_dict()["components"]["schemas"]
    stair = schemas["StairRequest"]
    assert stair["description"].startswith("A stair down and outwards from an edge")
    assert stair["properties"]["unit_run"] == {
        "$ref": "#/components/schemas/PositiveLength",
        "description": "Horizontal, from nosing to nosing.",
    }
    assert schemas["StairEdgeRequest"]["properties"]["offset"]["description"].endswith("centred.")
    assert schemas["TapeRequest"]["properties"]["from"]["description"]
    assert QUOTE_REQUEST.Meta.description == "Body of POST /v1/quotes."

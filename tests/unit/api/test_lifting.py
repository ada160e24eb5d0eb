"""What stands inside other schemas becomes components with good names."""

from copy import deepcopy

import pytest

from service.api.answers.words import TEXT, WHOLE, many, one_of, or_null, record, ref, said, titled
from service.api.lifting import lift
from service.usecases.orders import Units


def document(**schemas):
    return {"openapi": "3.1.1", "paths": {}, "components": {"schemas": schemas}}


def lifted(**schemas):
    return lift(document(**schemas))["components"]["schemas"]


def test_an_inline_object_is_named_for_its_place():
    bar = record("One bar.", sku=TEXT)
    schemas = lifted(CutPlan=record("A plan.", bars=many(bar), saved_length=record(mm=WHOLE)))
    assert schemas["CutPlan"]["properties"]["bars"]["items"] == ref("CutPlanBar")
    assert schemas["CutPlan"]["properties"]["saved_length"] == ref("CutPlanSavedLength")
    assert schemas["CutPlanBar"] == bar


def test_a_title_names_it_better():
    plan = record(bars=many(titled("Bar", record(sku=TEXT))), spare=or_null(record(x=WHOLE)))
    schemas = lifted(Plan=plan)
    assert set(schemas) == {"Plan", "Bar", "PlanSpare"}
    assert schemas["Plan"]["properties"]["spare"]["anyOf"] == [ref("PlanSpare"), {"type": "null"}]


def test_objects_are_lifted_out_of_lifted_objects():
    schemas = lifted(A=record(b=record(c=record(d=TEXT))))
    assert schemas["AB"]["properties"]["c"] == ref("ABC")
    assert schemas["ABC"]["properties"] == {"d": TEXT}


def test_one_enumeration_is_one_component_wherever_it_stands():
    units = one_of(Units, "How lengths are printed.")
    schemas = lifted(A=record(units=units), B=record(units={**one_of(Units), "default": "metric"}))
    assert schemas["Units"] == {"type": "string", "enum": ["imperial", "metric"]}
    assert schemas["A"]["properties"]["units"] == said(ref("Units"), "How lengths are printed.")
    assert schemas["B"]["properties"]["units"] == {**ref("Units"), "default": "metric"}


def test_parameters_share_the_components_of_bodies():
    parameter = {"name": "units", "in": "query", "schema": one_of(Units)}
    paths = {"/x": {"get": {"parameters": [parameter]}}}
    found = lift({**document(A=record(units=one_of(Units))), "paths": paths})
    assert found["paths"]["/x"]["get"]["parameters"][0]["schema"] == ref("Units")


def test_words_without_a_name_stay_where_they_are():
    words = one_of(("a", "b"))
    assert lifted(A=record(w=words)) == {"A": record(w=words)}


def test_members_may_be_called_like_keywords():
    odd = record(title=TEXT, type=TEXT, enum=many(TEXT), properties=TEXT, items=WHOLE)
    assert lifted(A=odd) == {"A": odd}


def test_examples_are_data_and_no_schemas():
    shown = {"type": "object", "title": "B", "properties": {"c": {}}}
    assert lifted(A={**TEXT, "examples": [shown]}) == {"A": {**TEXT, "examples": [shown]}}


def test_one_name_for_two_things_is_refused():
    with pytest.raises(ValueError, match="Bar would name two"):
        lifted(A=record(b=titled("Bar", record(c=TEXT)), d=titled("Bar", record(c=WHOLE))))


def test_the_document_given_is_left_as_it_is():
    given = document(A=record(b=record(c=one_of(Units))))
    before = deepcopy(given)
    lift(given)
    assert given == before

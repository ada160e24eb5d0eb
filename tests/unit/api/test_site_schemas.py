"""Framing, base plate and temperatures as a request gives them."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from marshmallow import ValidationError

from service.api.schemas.requests import LAYOUT_REQUEST
from service.api.schemas.site import Expansion, Temperature
from service.domain.layout.deck import Conditions
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from service.usecases.orders import LayoutOrder

DEMO = Path(__file__).parents[3] / "openapi" / "examples" / "layout-request.json"
TIMBER = {"thickness": "1-1/2 in", "depth": "9-1/4 in"}
FRAMING = {
    "joist_direction": 90,
    "spacing": "16 in",
    "first_joist": "15 in",
    "joist": TIMBER,
    "rim_thickness": "1-1/2 in",
    "block": TIMBER,
    "decking": "1 in",
}
BASE = {
    "plate": "5 in",
    "holes": [{"x": "2 in", "y": "-2 in"}, {"x": "-2 in", "y": "2 in"}],
    "fastener_diameter": "3/8 in",
    "edge_distance": "9/16 in",
}
CONDITIONS = {"install_temperature": "50 degF", "lowest": "-20 °F", "highest": "65 degC"}


def body() -> dict[str, Any]:
    whole = json.loads(DEMO.read_bytes())
    whole["deck"]["levels"][0]["framing"] = copy.deepcopy(FRAMING)
    whole["system"] |= {"base": copy.deepcopy(BASE), "expansion": "13.1 ppm/degF"}
    whole["conditions"] = dict(CONDITIONS)
    return whole


def refused(request: dict[str, Any]) -> Any:
    with pytest.raises(ValidationError) as caught:
        LAYOUT_REQUEST.load(request)
    return caught.value.messages


def test_a_site_comes_through() -> None:
    request = body()
    request["system"]["joints"]["sleeve"] = {"fitting": "1/16 in", "reach": "1 in"}
    order: LayoutOrder = LAYOUT_REQUEST.load(request)
    framing, base = order.deck.levels[0].framing, order.system.base
    assert framing is not None
    assert base is not None
    assert (framing.joist_deg, framing.first_joist_nm) == (90.0, inches(15))
    assert (framing.overhang_nm, framing.block_fit_nm) == (0, 0)
    assert base.holes[0] == (inches(2), -inches(2))
    assert base.end_distance_nm == base.edge_distance_nm == inches(0, 9, 16)
    sleeve = order.system.joints[JointKind.SLEEVE]
    assert (sleeve.fitting_nm, sleeve.reach_nm, sleeve.least_hold_nm) == (
        inches(0, 1, 16),
        inches(1),
        0,
    )
    assert order.system.expansion_per_k == pytest.approx(23.58e-6)
    assert order.deck.conditions == Conditions(
        installed_k=pytest.approx(283.15),
        lowest_k=pytest.approx(244.261, abs=1e-3),
        highest_k=pytest.approx(338.15),
    )


def test_a_site_may_be_left_out() -> None:
    order: LayoutOrder = LAYOUT_REQUEST.load(json.loads(DEMO.read_bytes()))
    assert order.deck.conditions is None
    assert {level.framing for level in order.deck.levels} == {None}
    assert order.system.base is None


@pytest.mark.parametrize(
    "text", ["70", "70 F", "70 K", "70 deg", "200 degF", "7e1 degC", "nan degC"]
)
def test_a_temperature_needs_its_unit_and_sense(text: str) -> None:
    with pytest.raises(ValidationError, match="degrees with their unit"):
        Temperature().deserialize(text)


@pytest.mark.parametrize("text", ["13.1e-6/degF", "13.1 ppm", "13.1 ppm/K", "-3 ppm/degC"])
def test_an_expansion_needs_its_unit_and_sense(text: str) -> None:
    with pytest.raises(ValidationError, match="parts per million"):
        Expansion().deserialize(text)


def test_conditions_are_in_order_and_of_use() -> None:
    request = body()
    request["conditions"]["install_temperature"] = "151 degF"
    del request["system"]["expansion"]
    messages = refused(request)
    assert messages["conditions"] == {
        "install_temperature": ["It lies between the lowest and the highest."]
    }
    assert "expansion" in messages["system"]


@pytest.mark.parametrize(
    ("spacing", "fit"),
    [
        pytest.param("3-7/8 in", "0 in", id="just under 4 in"),
        pytest.param("16 in", "14-1/2 in", id="the fitting takes the whole block"),
    ],
)
def test_joists_leave_room_for_a_block(spacing: str, fit: str) -> None:
    request = body()
    request["deck"]["levels"][0]["framing"] |= {"spacing": spacing, "block_fit": fit}
    assert "spacing" in refused(request)["deck"]["levels"][0]["framing"]


def test_holes_lie_on_the_plate_and_once() -> None:
    request = body()
    request["system"]["base"]["holes"] += [
        {"x": "2-1/2 in", "y": "0 in"},
        {"x": "2 in", "y": "-2 in"},
    ]
    assert refused(request)["system"]["base"]["holes"] == {
        2: ["This hole lies off the plate."],
        3: ["This hole is listed before."],
    }


def test_a_plate_is_no_deck() -> None:
    request = body()
    request["system"]["base"]["plate"] = "25 in"
    assert refused(request)["system"]["base"] == {"plate": ["A base plate is at most 24 in wide."]}

"""The structure of a request: what it becomes, what is refused and where."""

from typing import Any

import pytest
from marshmallow import ValidationError

from service.adapters.structure_library import open_structure_library
from service.api.schemas.base import Complaints
from service.api.schemas.structure import Factor, QuantityField, StructureSchema
from service.api.schemas.structure_records import check_structure, structure_of
from service.domain.errors import UnknownReference
from service.domain.lengths import inches
from service.domain.structure.checks import Unit
from service.domain.structure.specification import Direction, FastenerKind, StructureSpec

SCHEMA = StructureSchema()
MATERIALS = open_structure_library()


def tube(width: str, depth: str, wall: str) -> dict[str, str]:
    return {"shape": "tube", "width": width, "depth": depth, "wall": wall}


def spec(body: dict[str, Any]) -> StructureSpec:
    wish = structure_of(SCHEMA.load(body))
    assert wish is not None
    return wish(MATERIALS)


def complaints(body: dict[str, Any], base: dict[str, Any] | None = None) -> Any:
    found = Complaints()
    check_structure(SCHEMA.load(body), base, found)
    with pytest.raises(ValidationError) as refused:
        found.refuse()
    return refused.value.messages


def test_an_empty_structure_asks_for_everything() -> None:
    assert spec({}) == StructureSpec()
    assert structure_of(None) is None


def test_a_post_faces_the_guard_with_its_depth_and_a_rail_with_its_width() -> None:
    section = tube("2 in", "3 in", "1/8 in")
    body = {
        "post": {"section": section, "alloy": "6063-T6", "welded": True},
        "top_rail": {"section": section, "alloy": "6063-T6"},
    }
    made = spec(body)
    assert made.post is not None
    assert made.top_rail is not None
    assert made.post.welded
    assert made.post.section.outward.i_mm4 > made.post.section.other.i_mm4
    assert made.top_rail.section.outward == made.post.section.other


def test_a_section_as_drawn() -> None:
    axis = {"second_moment": "0.5 in4", "section_modulus": "0.4 in3", "wall_ratio": "18"}
    section = {"shape": "drawn", "area": "0.9 in2", "outward": axis}
    member = spec({"picket": {"section": section, "alloy": "6063-T5"}}).picket
    assert member is not None
    assert member.section.outward.s_mm3 == pytest.approx(0.4 * 25.4**3)
    assert member.section.outward.slenderness == 18
    assert member.section.other == member.section.outward


def test_lag_thread_from_the_library_or_the_request() -> None:
    lag = {"kind": "lag", "diameter": "3/8 in", "length": "5 in"}
    held = spec({"fastener": lag}).fastener
    assert held is not None
    assert held.thread == MATERIALS.lag_threads[inches(0, 3, 8)]
    own = spec({"fastener": {**lag, "root": "6 mm", "tip": "5 mm"}}).fastener
    assert own is not None
    assert own.thread is not None
    assert (own.thread.root_mm, own.thread.tip_mm) == (6, 5)
    odd = spec({"fastener": {**lag, "diameter": "7/16 in"}}).fastener
    assert odd is not None
    assert odd.thread is None


def test_a_side_mount_and_settings() -> None:
    rated = {"kind": "rated", "tension": "8.01 kN", "rating": "A report"}
    side = {"drop": "3 in", "spacing": "5 in", "rim_held": True, "fastener": rated}
    made = spec({"side_mount": side, "load_direction": "down_and_out"})
    assert made.side_mount is not None
    assert made.side_mount.fastener.kind is FastenerKind.RATED
    assert made.side_mount.fastener.tension_n == pytest.approx(8_010)
    assert made.load_direction is Direction.DOWN_AND_OUT


def test_wind_and_timber() -> None:
    made = spec({
        "wind": {"speed": "100 mph", "coefficient": "1.8"},
        "timber": {"species": "Southern Pine", "wet": False, "duration": "ten minutes"},
    })  # fmt: skip
    assert made.wind is not None
    assert (made.wind.speed_m_s, made.wind.coefficient) == (pytest.approx(44.704), 1.8)
    assert made.timber is not None
    assert (made.timber.wet, made.timber.duration, made.timber.decking_nm) == (False, 1.6, None)


@pytest.mark.parametrize(
    ("body", "where"),
    [
        (
            {"post": {"section": tube("2 in", "2 in", "1/8 in"), "alloy": "X", "welded": True}},
            ("structure", "post", "alloy"),
        ),
        ({"timber": {"species": "Ironwood"}}, ("structure", "timber", "species")),
    ],
)
def test_unknown_materials_are_refused_with_what_is_held(
    body: dict[str, Any], where: tuple[str, ...]
) -> None:
    with pytest.raises(UnknownReference) as refused:
        spec(body)
    assert refused.value.where == where
    assert refused.value.advice.startswith("Held are: ")


@pytest.mark.parametrize(
    ("wall", "refused"),
    [("24.99 mm", False), ("25 mm", True), ("26 mm", True)],
)
def test_walls_must_leave_a_hollow(wall: str, refused: bool) -> None:
    body = {"picket": {"section": tube("50 mm", "60 mm", wall), "alloy": "6063-T6"}}
    if refused:
        assert "wall" in complaints(body)["structure"]["picket"]["section"]
    else:
        check_structure(SCHEMA.load(body), None, Complaints())
        assert spec(body).picket is not None


def test_a_hole_outside_its_plate_is_refused() -> None:
    plate = {"thickness": "10 mm", "width": "100 mm", "depth": "80 mm",
             "holes": [{"x": "40 mm", "y": "-40 mm"}]}  # fmt: skip
    assert list(complaints({"base": plate})["structure"]["base"]["holes"][0]) == ["y"]


def test_half_a_thread_is_refused() -> None:
    lag = {"kind": "lag", "diameter": "3/8 in", "length": "5 in", "tip": "5 mm"}
    assert "root" in complaints({"fastener": lag})["structure"]["fastener"]


def test_two_diameters_are_refused() -> None:
    lag = {"kind": "lag", "diameter": "3/8 in", "length": "5 in"}
    found = complaints({"fastener": lag}, {"fastener_diameter": inches(0, 1, 2)})
    assert "diameter" in found["structure"]["fastener"]


@pytest.mark.parametrize("text", ["0 lb", "0.0 lb", "-5 lb", "1e3 lb", "5", "5 in", 5, None])
def test_a_force_is_a_plain_number_over_zero_with_its_unit(text: object) -> None:
    with pytest.raises(ValidationError):
        QuantityField(Unit.FORCE).deserialize(text)


@pytest.mark.parametrize("text", ["0", "0.0", "-1", "1e2", 1, "10000"])
def test_a_factor_is_a_plain_number_over_zero(text: object) -> None:
    with pytest.raises(ValidationError):
        Factor().deserialize(text)


def test_duration_for_impact_is_not_for_connections() -> None:
    with pytest.raises(ValidationError, match="Use one of"):
        SCHEMA.load({"timber": {"species": "Redwood", "duration": "impact"}})


def test_whether_the_foot_of_a_post_is_welded_must_be_said() -> None:
    with pytest.raises(ValidationError, match="welded"):
        SCHEMA.load({"post": {"section": tube("2 in", "2 in", "3 mm"), "alloy": "6063-T6"}})

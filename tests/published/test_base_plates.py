"""Plates under posts and posts on the side of a rim.

Sources, by id in ``data/structure.json``:
- ETL: worked example of US Army Corps of Engineers ETL 1110-2-534 (30 Sep 1994), Appendix A.
- PLATE: rectangular compression block, statics; root confirmed by a second solver.
- SIDE: statics, of the order of the 1 800 lb hold-down rule attributed to DCA 6.
"""

import pytest

from service.adapters.structure_library import open_structure_library
from service.domain.structure.base_plates import (
    ANCHOR_FACTOR,
    compression_block,
    edge_tension_n,
)
from service.domain.structure.checks import Figure, Unit
from service.domain.structure.judging import bending
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.sections import AxisProperties, Section
from service.domain.structure.side_mount import two_bolts
from service.domain.structure.specification import Member
from tests.published.structure_table import given, value, within


def test_etl_anchor() -> None:
    case, factored = given("ETL-ANCHOR-F"), given("ETL-ANCHOR-SF")
    tension = edge_tension_n(case["P_N"] * case["h_mm"], case["d_mm"]) / 1000
    assert tension == within("ETL-ANCHOR-F")
    assert factored["SF"] == ANCHOR_FACTOR
    assert tension * ANCHOR_FACTOR == within("ETL-ANCHOR-SF")


def test_etl_post_stress() -> None:
    case = given("ETL-POST-STRESS")
    axis = AxisProperties(1.0, 1.0, case["S_mm3"], 1.0, 0.0)
    alloy = open_structure_library().alloys["6061-T6"]
    found = bending(
        "post bending",
        ["P1"],
        Member(Section("pipe", axis, axis), alloy),
        axis,
        Figure("M", "moment", case["M_Nmm"], Unit.MOMENT),
        formula="f = M / S",
        inputs=(),
        load=Load(LoadPlace.TOP, Unit.FORCE, 890.0, "890 N"),
        source="ETL",
    )
    assert found.result is not None
    assert found.result.value == within("ETL-POST-STRESS")


def test_compression_block() -> None:
    case = given("PLATE-T2")
    block = compression_block(case["M_lbin"], case["B_in"], case["d_in"], case["f_psi"])
    assert block.depth_mm == within("PLATE-A")
    assert block.tension_n is not None
    assert block.tension_n / case["n"] == within("PLATE-T2")


def test_edge_formula_is_on_the_unsafe_side() -> None:
    case = given("PLATE-T2-EDGE")
    assert edge_tension_n(case["M_lbin"], case["d_in"], case["n"]) == within("PLATE-T2-EDGE")
    assert value("PLATE-T2-EDGE") < value("PLATE-T2")


@pytest.mark.parametrize("row", ["SIDE-T-5", "SIDE-T-3.25"])
def test_upper_bolt(row: str) -> None:
    case = given(row)
    couple = two_bolts(case["P_lb"], case["a_in"], case["s_in"])
    assert couple.upper_tension_n == within(row)


def test_lower_edge() -> None:
    case = given("SIDE-C-5")
    couple = two_bolts(case["P_lb"], case["a_in"], case["s_in"])
    assert couple.lower_compression_n == within("SIDE-C-5")
    assert couple.upper_tension_n - couple.lower_compression_n == pytest.approx(case["P_lb"])

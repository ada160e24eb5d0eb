"""Alloys, allowable stresses and posts of aluminium.

Sources, by id in ``data/structure.json``:
- AL-FTU, AL-FTY: extrusion minimums of a mill's alloy and temper table; 49 CFR 178.46 for 6061-T6.
- AL-ALLOW: factors of the Aluminum Construction Manual 1.3.1 on those strengths, worked here.
- AL-S1, AL-K: wall constants of the Aluminum Design Manual from memory, which reproduce its tables.
- AL-E: 10 100 ksi in SI. POST: P h / S, worked here.
"""

import pytest

from service.adapters.structure_library import open_structure_library
from service.domain.structure.members import (
    basic_allowable,
    bending_allowable,
    post_moment_n_mm,
    wall_allowable_mpa,
    wall_limits,
)
from service.domain.structure.sections import rectangular_tube
from tests.published.structure_table import KSI, given, ids, value, within

ALLOYS = open_structure_library().alloys
E_MPA = 10_100 * KSI


@pytest.mark.parametrize("row", ids("AL", "AL-FTU-"))
def test_ultimate_strength(row: str) -> None:
    assert ALLOYS[given(row)["alloy"]].f_tu_mpa / KSI == within(row)


@pytest.mark.parametrize("row", ids("AL", "AL-FTY-"))
def test_yield_strength(row: str) -> None:
    assert ALLOYS[given(row)["alloy"]].f_ty_mpa / KSI == within(row)


@pytest.mark.parametrize("row", ids("AL", "AL-ALLOW-"))
def test_allowable_stress(row: str) -> None:
    case = given(row)
    found = bending_allowable(ALLOYS[case["alloy"]], 0.0)
    assert found is not None
    assert found.stress_mpa / KSI == within(row)
    assert found.stress_mpa / KSI == pytest.approx(
        basic_allowable(case["Fty"], case["Ftu"]).stress_mpa
    )
    assert found.by == ("rupture" if case["Fty"] == 35 else "yield")


def test_modulus_of_elasticity() -> None:
    for alloy in ALLOYS.values():
        assert alloy.e_mpa / 1000 == within("AL-E")


@pytest.mark.parametrize("row", ids("AL", "AL-S1-"))
def test_slenderness_where_yielding_ends(row: str) -> None:
    assert wall_limits(given(row)["Fcy_ksi"] * KSI, E_MPA).s1 == within(row)


@pytest.mark.parametrize("row", ids("AL", "AL-K-"))
def test_constant_of_slender_walls(row: str) -> None:
    """Past S2 the allowable is this constant over b/t; 100 is far past it."""
    allowable = wall_allowable_mpa(100.0, given(row)["Fcy_ksi"] * KSI, E_MPA)
    assert allowable / KSI * 100 == within(row)


@pytest.mark.parametrize("row", ids("POST", "POST-F-"))
def test_post_stress(row: str) -> None:
    case = given(row)
    section = rectangular_tube(case["b_in"], case["b_in"], case["t_in"])
    moment = post_moment_n_mm(case["P_lb"], case["h_in"])
    assert moment / section.s_mm3 / 1000 == within(row)


def test_two_inch_post_at_42_in_is_just_over() -> None:
    """POST-2x2-42-6063T6-FAILS: a boundary, 15.224 over 15.152 ksi."""
    section = rectangular_tube(2, 2, 0.125)
    allowable = bending_allowable(ALLOYS["6063-T6"], section.slenderness)
    assert allowable is not None
    stress = post_moment_n_mm(200, 42) / section.s_mm3 / 1000 * KSI
    assert stress / allowable.stress_mpa == within("POST-2x2-42-6063T6-FAILS")
    assert stress / allowable.stress_mpa > 1


def test_wide_wall_of_a_strong_alloy_still_ruptures_first() -> None:
    """3 x 3 x 0.125 in has b/t 22 past S1; its wall allows 20.86 ksi, rupture 19.49."""
    section = rectangular_tube(3, 3, 0.125)
    assert section.slenderness == 22
    alloy = ALLOYS["6061-T6"]
    assert wall_allowable_mpa(22, alloy.f_ty_mpa, alloy.e_mpa) / KSI == pytest.approx(
        20.86, abs=0.01
    )
    found = bending_allowable(alloy, 22)
    assert found is not None
    assert found.by == "rupture"


def test_every_alloy_held_is_compared() -> None:
    assert set(ALLOYS) == {given(row)["alloy"] for row in ids("AL", "AL-FTU-")}
    assert value("AL-FTU-6061-T6") == 38

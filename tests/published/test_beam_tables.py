"""Rails and posts as beams.

Sources, by id in ``data/structure.json``:
- BEAM, CANT: standard beam tables; values worked here and agreeing with four open libraries.
- COMBO: superposition, confirmed by a frame in space with pinned rail ends.
- NAAMM, RAIL: a permit calculation citing ANSI/NAAMM AMP 521-01; its shares of 0.65 and 0.85 are
  published use, not this service's (which takes one).
"""

import pytest

from service.domain.structure.members import (
    Bending,
    cantilever_deflection_mm,
    mid_rail_deflection_mm,
    post_moment_n_mm,
    simple_line,
    simple_point,
    two_span_line,
    two_span_line_on_one,
    two_span_point,
)
from tests.published.structure_table import given, ids, value, within

CASES = {
    "BEAM-SS-P": simple_point,
    "BEAM-SS-W": simple_line,
    "BEAM-2S-W": two_span_line,
    "BEAM-2S-P": two_span_point,
    "BEAM-2S-W1": two_span_line_on_one,
}
TAKEN = {
    "M": lambda bent: bent.sagging_n_mm,
    "MPOS": lambda bent: bent.sagging_n_mm,
    "MNEG": lambda bent: bent.hogging_n_mm,
    "D": lambda bent: bent.deflection_mm,
}


def _bent(row: str) -> Bending:
    case = given(row)
    load = case["P_lb"] if "P_lb" in case else case["w_plf"] / 12
    function = CASES[row.rpartition("-")[0]]
    return function(load, case["L_in"], case["E_psi"], case["I_in4"])


@pytest.mark.parametrize("row", [row for row in ids("BEAM") if not row.endswith("-R")])
def test_moment_or_deflection(row: str) -> None:
    assert TAKEN[row.rpartition("-")[2]](_bent(row)) == within(row)


@pytest.mark.parametrize("row", ["BEAM-2S-W-R", "BEAM-2S-P-R"])
def test_reactions(row: str) -> None:
    reactions = list(_bent(row).reactions_n)
    assert reactions[: len(value(row))] == within(row)


@pytest.mark.parametrize("row", ids("CANT"))
def test_cantilever(row: str) -> None:
    case = given(row)
    moved = cantilever_deflection_mm(case["P_lb"], case["h_in"], case["E_psi"], case["I_in4"])
    assert moved == within(row)


def test_rail_and_posts_together() -> None:
    case = given("COMBO-D")
    e_psi = case["E_psi"]
    moved = mid_rail_deflection_mm(
        case["P_lb"], case["L_in"], case["h_in"], e_psi * case["Ir"], e_psi * case["Ip"]
    )
    assert moved == within("COMBO-D")


@pytest.mark.parametrize("row", ids("NAAMM"))
def test_shared_post_moment(row: str) -> None:
    """An end post has half the tributary length of the line load."""
    case = given(row)
    load = case.get("P_lb")
    if load is None:
        length_ft = case["spacing_in"] / 12 / (2 if "-END-" in row else 1)
        load = case["w_plf"] * length_ft
    assert post_moment_n_mm(load, case["h_in"], case["share"]) / 1000 == within(row)


def test_rail_moments() -> None:
    line, point = given("RAIL-W"), given("RAIL-P")
    by_line = simple_line(line["w_plf"] / 12, line["L_in"], 1.0, 1.0)
    by_point = simple_point(point["P_lb"], point["L_in"], 1.0, 1.0)
    assert by_line.moment_n_mm / 1000 == within("RAIL-W")
    assert by_point.moment_n_mm / 1000 == within("RAIL-P")

"""Beams, and rails on posts, against the frames of PyNite (MIT), an open library.

PyNite samples points along a member, so that its greatest values may read a little low.
"""

import pytest
from Pynite import FEModel3D

from service.domain.structure.members import (
    mid_rail_deflection_mm,
    mid_rail_under_line_mm,
    simple_line,
    simple_patch,
    simple_point,
    two_span_line,
    two_span_line_on_one,
    two_span_point,
)

E_MPA, I_MM4, SPAN = 69_637.0, 126_689.0, 1_828.8
FORCE, LINE = 889.644, 0.7297


def _beam(spans: int, last: float = SPAN) -> FEModel3D:
    model = FEModel3D()
    model.add_material("alloy", E_MPA, E_MPA / 2.66, 0.33, 2.7e-9)
    model.add_section("rail", 344.8, I_MM4, I_MM4, 2 * I_MM4)
    for index in range(spans + 1):
        x = (index - 1) * SPAN + last if index == spans else index * SPAN
        model.add_node(f"N{index}", x, 0, 0)
        model.def_support(f"N{index}", index == 0, True, True, index == 0, False, False)
    for index in range(spans):
        model.add_member(f"M{index}", f"N{index}", f"N{index + 1}", "alloy", "rail")
    return model


def _compare(model: FEModel3D, ours) -> None:
    model.analyze()
    members = model.members.values()
    moments = [value for m in members for value in (m.max_moment("Mz"), m.min_moment("Mz"))]
    deflections = [abs(m.min_deflection("dy")) for m in members]
    assert max(abs(value) for value in moments) == pytest.approx(ours.moment_n_mm, rel=1e-3)
    assert max(deflections) == pytest.approx(ours.deflection_mm, rel=1e-3)
    for node, reaction in zip(model.nodes.values(), ours.reactions_n, strict=True):
        assert node.RxnFY["Combo 1"] == pytest.approx(reaction, rel=1e-6)


def test_simple_span_under_a_point_load() -> None:
    model = _beam(1)
    model.add_member_pt_load("M0", "Fy", -FORCE, SPAN / 2)
    _compare(model, simple_point(FORCE, SPAN, E_MPA, I_MM4))


def test_simple_span_under_a_line_load() -> None:
    model = _beam(1)
    model.add_member_dist_load("M0", "Fy", -LINE, -LINE)
    _compare(model, simple_line(LINE, SPAN, E_MPA, I_MM4))


def test_simple_span_under_a_patch() -> None:
    model = _beam(1)
    patch = 304.8
    line = -FORCE / patch
    model.add_member_dist_load("M0", "Fy", line, line, (SPAN - patch) / 2, (SPAN + patch) / 2)
    _compare(model, simple_patch(FORCE, patch, SPAN, E_MPA, I_MM4))


def test_two_spans_under_a_point_load() -> None:
    model = _beam(2)
    model.add_member_pt_load("M0", "Fy", -FORCE, SPAN / 2)
    _compare(model, two_span_point(FORCE, SPAN, E_MPA, I_MM4))


def test_two_spans_under_a_line_load() -> None:
    model = _beam(2)
    for member in ("M0", "M1"):
        model.add_member_dist_load(member, "Fy", -LINE, -LINE)
    _compare(model, two_span_line(LINE, SPAN, E_MPA, I_MM4))


def test_two_spans_with_a_line_load_on_one() -> None:
    model = _beam(2)
    model.add_member_dist_load("M0", "Fy", -LINE, -LINE)
    _compare(model, two_span_line_on_one(LINE, SPAN, E_MPA, I_MM4))


@pytest.mark.parametrize("shorter", [0.3, 0.6, 0.9])
def test_equal_spans_cover_a_shorter_neighbour(shorter: float) -> None:
    """What the screening takes for granted of two unequal bays, loaded on either one."""
    covered = two_span_point(FORCE, SPAN, E_MPA, I_MM4)
    for loaded in (0, 1):
        model = _beam(2, last=SPAN * shorter)
        length = SPAN if loaded == 0 else SPAN * shorter
        model.add_member_pt_load(f"M{loaded}", "Fy", -FORCE, length / 2)
        model.analyze()
        for member in model.members.values():
            worst = max(abs(member.max_moment("Mz")), abs(member.min_moment("Mz")))
            assert worst <= covered.moment_n_mm * (1 + 1e-6)
            assert abs(member.min_deflection("dy")) <= covered.deflection_mm * (1 + 1e-6)


HEIGHT, POST_I = 914.4, 465_957.0


def _railed() -> FEModel3D:
    """Two posts fixed at their feet, a rail pinned to them."""
    height, post_i = HEIGHT, POST_I
    model = FEModel3D()
    model.add_material("alloy", E_MPA, E_MPA / 2.66, 0.33, 2.7e-9)
    model.add_section("post", 766.0, post_i, post_i, 2 * post_i)
    model.add_section("rail", 344.8, I_MM4, I_MM4, 2 * I_MM4)
    for index, x in enumerate((0.0, SPAN)):
        model.add_node(f"foot{index}", x, 0, 0)
        model.add_node(f"top{index}", x, height, 0)
        model.def_support(f"foot{index}", *[True] * 6)
        model.add_member(f"post{index}", f"foot{index}", f"top{index}", "alloy", "post")
    model.add_member("rail", "top0", "top1", "alloy", "rail")
    model.def_releases("rail", Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    return model


def test_middle_of_a_rail_under_a_line_load() -> None:
    """The neighbouring spans push the other half of their load on each post."""
    model = _railed()
    model.add_member_dist_load("rail", "FZ", LINE, LINE)
    for index in range(2):
        model.add_node_load(f"top{index}", "FZ", LINE * SPAN / 2)
    model.analyze()
    rail = model.members["rail"]
    sway = max(abs(rail.max_deflection("dz")), abs(rail.min_deflection("dz")))
    ours = mid_rail_under_line_mm(LINE, SPAN, HEIGHT, E_MPA * I_MM4, E_MPA * POST_I)
    assert sway == pytest.approx(ours, rel=1e-3)


def test_middle_of_a_rail_on_two_posts() -> None:
    """Pushed outward in its middle."""
    height, post_i = HEIGHT, POST_I
    model = _railed()
    model.add_member_pt_load("rail", "FZ", FORCE, SPAN / 2)
    model.analyze()
    tops = model.nodes["top0"].DZ["Combo 1"]
    rail = model.members["rail"]
    sway = max(abs(rail.max_deflection("dz")), abs(rail.min_deflection("dz")))
    ours = mid_rail_deflection_mm(FORCE, SPAN, height, E_MPA * I_MM4, E_MPA * post_i)
    assert sway == pytest.approx(ours, rel=1e-3)
    assert tops == pytest.approx(FORCE / 2 * height**3 / (3 * E_MPA * post_i), rel=1e-6)

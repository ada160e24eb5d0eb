"""Section properties against the finite elements of sectionproperties (MIT), an open library."""

import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre.library import (
    circular_hollow_section,
    rectangular_hollow_section,
    rectangular_section,
)

from service.domain.structure.sections import (
    AxisProperties,
    rectangular_tube,
    round_tube,
    solid_rectangle,
)


def _meshed(geometry) -> AxisProperties:
    geometry.create_mesh(mesh_sizes=[20])
    section = Section(geometry)
    section.calculate_geometric_properties()
    section.calculate_plastic_properties()
    i, _, _ = section.get_ic()
    s, *_ = section.get_z()
    z, _ = section.get_s()
    return AxisProperties(section.get_area(), i, s, z, None)


def _agree(ours: AxisProperties, theirs: AxisProperties, rel: float) -> None:
    for name in ("area_mm2", "i_mm4", "s_mm3", "z_mm3"):
        assert getattr(ours, name) == pytest.approx(getattr(theirs, name), rel=rel), name


@pytest.mark.parametrize(
    ("width", "depth", "wall"),
    [(50.8, 50.8, 3.175), (38.1, 50.8, 2.032), (19.05, 19.05, 1.397), (100.0, 40.0, 5.0)],
)
def test_rectangular_tube(width: float, depth: float, wall: float) -> None:
    geometry = rectangular_hollow_section(d=depth, b=width, t=wall, r_out=0, n_r=1)
    _agree(rectangular_tube(width, depth, wall), _meshed(geometry), rel=1e-5)


def test_solid_rectangle() -> None:
    _agree(solid_rectangle(19.0, 38.0), _meshed(rectangular_section(d=38.0, b=19.0)), rel=1e-5)


def test_round_tube() -> None:
    """A polygon of 256 sides stands for the circle."""
    _agree(round_tube(48.26, 3.683), _meshed(circular_hollow_section(48.26, 3.683, 256)), rel=5e-4)

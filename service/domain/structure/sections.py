"""Section properties of what rails, posts and pickets are made from.

Inside this package lengths are float millimetres, forces newtons, stresses megapascals (N/mm2),
moments newton millimetres and line loads newtons per millimetre: one coherent system, in which
nothing is counted or cut.

Source: closed forms of mechanics of materials, sharp corners. Real extrusions have radii, screw
bosses and slots: where a die drawing gives the properties, give those instead.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AxisProperties:
    """Properties for bending about one axis.

    Attributes:
        area_mm2: Cross-section. [mm2]
        i_mm4: Second moment of area. [mm4]
        s_mm3: Elastic section modulus. [mm3]
        z_mm3: Plastic section modulus. [mm3]
        slenderness: Flat width over thickness of the wall in compression; 0 where the section is
            solid, None where it is not known or the wall is not flat.
    """

    area_mm2: float
    i_mm4: float
    s_mm3: float
    z_mm3: float
    slenderness: float | None


@dataclass(frozen=True, slots=True)
class Outline:
    """Outer sizes and wall of a section that is not known by its properties alone.

    Attributes:
        outward_mm: Outer size square to the guard; the diameter of a round tube. [mm]
        other_mm: Outer size the other way. [mm]
        wall_mm: Thickness of the wall, 0 of a solid bar. [mm]
    """

    outward_mm: float
    other_mm: float
    wall_mm: float = 0.0
    round: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One cross-section.

    Attributes:
        name: As people read it, such as "tube 50.8 x 50.8 x 3.18 mm".
        outward: For a load square to the guard.
        other: For a load along the guard on a post, downward on a rail.
        outline: Its sizes; None where only properties were given.
    """

    name: str
    outward: AxisProperties
    other: AxisProperties
    outline: Outline | None = None

    @property
    def weaker(self) -> AxisProperties:
        """The axis with the smaller section modulus."""
        return min(self.outward, self.other, key=lambda axis: axis.s_mm3)


def rectangular_tube(width_mm: float, depth_mm: float, wall_mm: float) -> AxisProperties:
    """Give the properties of a sharp-cornered tube that bends over its depth.

    Args:
        width_mm: Outer size square to the load. [mm]
        depth_mm: Outer size in the direction of the load. [mm]
        wall_mm: Thickness of the wall. [mm]

    Raises:
        ValueError: The walls leave no hollow.

    Example:
        >>> tube = rectangular_tube(2.0, 2.0, 0.125)  # any one unit of length serves
        >>> round(tube.area_mm2, 4), round(tube.i_mm4, 5), round(tube.z_mm3, 5), tube.slenderness
        (0.9375, 0.55176, 0.66016, 14.0)
    """
    inner_width, inner_depth = width_mm - 2 * wall_mm, depth_mm - 2 * wall_mm
    if wall_mm <= 0 or inner_width <= 0 or inner_depth <= 0:
        raise ValueError(f"walls of {wall_mm:g} mm leave no hollow in {width_mm:g}x{depth_mm:g} mm")
    i = (width_mm * depth_mm**3 - inner_width * inner_depth**3) / 12
    z = (width_mm * depth_mm**2 - inner_width * inner_depth**2) / 4
    area = width_mm * depth_mm - inner_width * inner_depth
    return AxisProperties(area, i, 2 * i / depth_mm, z, inner_width / wall_mm)


def solid_rectangle(width_mm: float, depth_mm: float) -> AxisProperties:
    """Give the properties of a solid bar that bends over its depth.

    Example:
        >>> bar = solid_rectangle(10.0, 20.0)
        >>> bar.area_mm2, round(bar.i_mm4, 2), round(bar.s_mm3, 2), bar.z_mm3
        (200.0, 6666.67, 666.67, 1000.0)
    """
    if width_mm <= 0 or depth_mm <= 0:
        raise ValueError(f"a bar of {width_mm:g} x {depth_mm:g} mm is nothing")
    s = width_mm * depth_mm**2 / 6
    return AxisProperties(width_mm * depth_mm, s * depth_mm / 2, s, width_mm * depth_mm**2 / 4, 0.0)


def round_tube(diameter_mm: float, wall_mm: float) -> AxisProperties:
    """Give the properties of a round tube; no limit of its curved wall is held.

    Raises:
        ValueError: The wall leaves no hollow.

    Example:
        >>> pipe = round_tube(48.26, 3.683)
        >>> round(pipe.s_mm3), pipe.slenderness
        (5346, None)
    """
    inner = diameter_mm - 2 * wall_mm
    if wall_mm <= 0 or inner <= 0:
        raise ValueError(f"a wall of {wall_mm:g} mm leaves no hollow in {diameter_mm:g} mm")
    i = math.pi * (diameter_mm**4 - inner**4) / 64
    area = math.pi * (diameter_mm**2 - inner**2) / 4
    z = (diameter_mm**3 - inner**3) / 6
    return AxisProperties(area, i, 2 * i / diameter_mm, z, None)


def tube_section(name: str, outward_mm: float, other_mm: float, wall_mm: float) -> Section:
    """Give a rectangular tube for both directions.

    Args:
        name: As people read it.
        outward_mm: Outer size square to the guard. [mm]
        other_mm: Outer size along the guard for a post or picket, upright for a rail. [mm]
        wall_mm: Thickness of the wall. [mm]
    """
    return Section(
        name,
        rectangular_tube(other_mm, outward_mm, wall_mm),
        rectangular_tube(outward_mm, other_mm, wall_mm),
        Outline(outward_mm, other_mm, wall_mm),
    )


def solid_section(name: str, outward_mm: float, other_mm: float) -> Section:
    """Give a solid bar for both directions, as ``tube_section`` does a tube."""
    return Section(
        name,
        solid_rectangle(other_mm, outward_mm),
        solid_rectangle(outward_mm, other_mm),
        Outline(outward_mm, other_mm),
    )


def round_section(name: str, diameter_mm: float, wall_mm: float) -> Section:
    """Give a round tube for both directions."""
    axis = round_tube(diameter_mm, wall_mm)
    return Section(name, axis, axis, Outline(diameter_mm, diameter_mm, wall_mm, round=True))


def section_of(outline: Outline) -> Section:
    """Give the section of an outline, named by its sizes.

    Raises:
        ValueError: The wall leaves no hollow.

    Example:
        >>> section_of(Outline(50.8, 76.2, 3.2)).name
        'tube 50.8 x 76.2 x 3.2 mm'
    """
    outward, other, wall = outline.outward_mm, outline.other_mm, outline.wall_mm
    if outline.round:
        return round_section(f"round tube {outward:g} x {wall:g} mm", outward, wall)
    if not wall:
        return solid_section(f"bar {outward:g} x {other:g} mm", outward, other)
    return tube_section(f"tube {outward:g} x {other:g} x {wall:g} mm", outward, other, wall)

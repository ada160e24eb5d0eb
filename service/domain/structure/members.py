"""Bending and deflection of posts, rails and pickets.

Units as in ``sections``: N, mm, MPa, N mm, N/mm. Sources: standard beam tables (simple and
cantilever cases, two equal spans under uniform load) and statics for the rest.
"""

import math
from dataclasses import dataclass

from service.domain.structure.materials import Alloy

YIELD_FACTOR = 1.65  # on yield, building-type structures
RUPTURE_FACTOR = 1.95  # on ultimate strength
_CUBE_ROOT_BASE_MPA = 1500 * 6.894757293168361  # the 1 500 ksi of the plate formula


@dataclass(frozen=True, slots=True)
class Allowable:
    """An allowable bending stress and what decides it.

    Attributes:
        stress_mpa: [MPa]
        by: "yield", "rupture" or "wall buckling".
    """

    stress_mpa: float
    by: str


@dataclass(frozen=True, slots=True)
class WallLimits:
    """Constants of a flat wall supported on both edges, in compression.

    Attributes:
        b_p_mpa, d_p_mpa: Intercept and slope of the straight line. [MPa]
        s1, s2: Width over thickness where yielding ends and elastic buckling begins.
    """

    b_p_mpa: float
    d_p_mpa: float
    s1: float
    s2: float


@dataclass(frozen=True, slots=True)
class Bending:
    """What a load does to a beam.

    Attributes:
        sagging_n_mm: Greatest moment between supports. [N mm]
        hogging_n_mm: Greatest moment over a support, as a positive number. [N mm]
        reactions_n: From the loaded end on. [N]
        deflection_mm: Greatest deflection. [mm]
    """

    sagging_n_mm: float
    hogging_n_mm: float
    reactions_n: tuple[float, ...]
    deflection_mm: float

    @property
    def moment_n_mm(self) -> float:
        """The greater of the two moments. [N mm]"""
        return max(self.sagging_n_mm, self.hogging_n_mm)


def basic_allowable(f_ty_mpa: float, f_tu_mpa: float) -> Allowable:
    """Give min(F_ty / 1.65, F_tu / 1.95).

    Source: Aluminum Construction Manual 1.3.1; that the same factors stand in the current Aluminum
    Design Manual is from memory. Used on the elastic modulus, which is conservative.

    Example:
        >>> basic_allowable(35.0, 38.0)
        Allowable(stress_mpa=19.48717948717949, by='rupture')
    """
    by_yield, by_rupture = f_ty_mpa / YIELD_FACTOR, f_tu_mpa / RUPTURE_FACTOR
    if by_rupture < by_yield:
        return Allowable(by_rupture, "rupture")
    return Allowable(by_yield, "yield")


def wall_limits(f_cy_mpa: float, e_mpa: float) -> WallLimits:
    """Give the constants of a flat wall, from memory, not read in a copy.

    They reproduce the tabulated 22.8, 39 and 484 ksi of 6063-T6 and the 20.8, 33 and 580 ksi of
    6061-T6.
    """
    b_p = f_cy_mpa * (1 + (f_cy_mpa / _CUBE_ROOT_BASE_MPA) ** (1 / 3))
    d_p = b_p / 10 * math.sqrt(b_p / e_mpa)
    return WallLimits(b_p, d_p, (b_p - f_cy_mpa) / (1.6 * d_p), 0.35 * b_p / (1.6 * d_p))


def wall_allowable_mpa(slenderness: float, f_cy_mpa: float, e_mpa: float) -> float:
    """Give the allowable compression in a flat wall by its width over thickness. [MPa]"""
    limits = wall_limits(f_cy_mpa, e_mpa)
    if slenderness <= limits.s1:
        return f_cy_mpa / YIELD_FACTOR
    if slenderness < limits.s2:
        return (limits.b_p_mpa - 1.6 * limits.d_p_mpa * slenderness) / YIELD_FACTOR
    return 2.27 * math.sqrt(limits.b_p_mpa * e_mpa) / (1.6 * slenderness) / YIELD_FACTOR


def strengths_mpa(alloy: Alloy, *, welded: bool) -> tuple[float, float] | None:
    """Give yield and ultimate strength, by a weld if asked; None if those are not held. [MPa]"""
    if not welded:
        return alloy.f_ty_mpa, alloy.f_tu_mpa
    if alloy.welded_f_ty_mpa is None or alloy.welded_f_tu_mpa is None:
        return None
    return alloy.welded_f_ty_mpa, alloy.welded_f_tu_mpa


def bending_allowable(
    alloy: Alloy, slenderness: float | None, *, welded: bool = False
) -> Allowable | None:
    """Give the least of yield, rupture and, where the wall is known, local buckling.

    Compressive yield is taken as tensile yield, as for extrusions (from memory).

    Args:
        alloy: What it is made of.
        slenderness: Of the wall in compression; None leaves buckling out.
        welded: Whether the section lies within 1 in of a weld.
    """
    strengths = strengths_mpa(alloy, welded=welded)
    if strengths is None:
        return None
    allowable = basic_allowable(*strengths)
    if slenderness:
        wall = wall_allowable_mpa(slenderness, strengths[0], alloy.e_mpa)
        if wall < allowable.stress_mpa:
            return Allowable(wall, "wall buckling")
    return allowable


def post_moment_n_mm(load_n: float, height_mm: float, share: float = 1.0) -> float:
    """Give the moment at the foot of a post, which takes a share of the load at its top. [N mm]

    A share under one is for rails that run past several posts, and unsafe for stiff posts with
    light rails; the screening always takes one.

    Example:
        >>> post_moment_n_mm(200, 36)  # any one system of units serves
        7200.0
    """
    return share * load_n * height_mm


def cantilever_deflection_mm(load_n: float, height_mm: float, e_mpa: float, i_mm4: float) -> float:
    """Give P h^3 / 3 E I, the foot being rigid. [mm]"""
    return load_n * height_mm**3 / (3 * e_mpa * i_mm4)


def simple_point(load_n: float, span_mm: float, e_mpa: float, i_mm4: float) -> Bending:
    """Load at the middle of a simple span."""
    half = load_n / 2
    deflection = load_n * span_mm**3 / (48 * e_mpa * i_mm4)
    return Bending(load_n * span_mm / 4, 0.0, (half, half), deflection)


def simple_line(load_n_per_mm: float, span_mm: float, e_mpa: float, i_mm4: float) -> Bending:
    """Line load over a simple span."""
    half = load_n_per_mm * span_mm / 2
    deflection = 5 * load_n_per_mm * span_mm**4 / (384 * e_mpa * i_mm4)
    return Bending(load_n_per_mm * span_mm**2 / 8, 0.0, (half, half), deflection)


def simple_patch(
    load_n: float, patch_mm: float, span_mm: float, e_mpa: float, i_mm4: float
) -> Bending:
    """Load spread over the middle stretch of a simple span; a patch past the span is cut to it.

    M = W (L/4 - c/8), deflection W (8 L^3 - 4 L c^2 + c^3) / 384 E I.
    """
    patch = min(patch_mm, span_mm)
    half = load_n / 2
    cubes = 8 * span_mm**3 - 4 * span_mm * patch**2 + patch**3
    deflection = load_n * cubes / (384 * e_mpa * i_mm4)
    return Bending(load_n * (span_mm / 4 - patch / 8), 0.0, (half, half), deflection)


def two_span_point(load_n: float, span_mm: float, e_mpa: float, i_mm4: float) -> Bending:
    """Load at the middle of one of two equal spans."""
    moment = load_n * span_mm
    # Greatest deflection at x = L sqrt(3/13) from the free end, where the slope is nothing.
    place = math.sqrt(3 / 13)
    factor = _two_span_point_deflection(place)
    return Bending(
        13 * moment / 64,
        3 * moment / 32,
        (13 * load_n / 32, 11 * load_n / 16, -3 * load_n / 32),
        factor * load_n * span_mm**3 / (e_mpa * i_mm4),
    )


def _two_span_point_deflection(place: float) -> float:
    """Deflection over P L^3 / E I at a place up to the load, as a part of the span."""
    # E I y = R x^3 / 6 - C x with R = 13/32 and no deflection over the middle support.
    slope = 13 / 32 / 6 - 1 / 6 / 8
    return slope * place - 13 / 32 / 6 * place**3


def two_span_line(load_n_per_mm: float, span_mm: float, e_mpa: float, i_mm4: float) -> Bending:
    """Line load over both of two equal spans."""
    whole = load_n_per_mm * span_mm
    return Bending(
        9 * whole * span_mm / 128,
        whole * span_mm / 8,
        (3 * whole / 8, 10 * whole / 8, 3 * whole / 8),
        0.0054161 * whole * span_mm**3 / (e_mpa * i_mm4),
    )


def two_span_line_on_one(
    load_n_per_mm: float, span_mm: float, e_mpa: float, i_mm4: float
) -> Bending:
    """Line load over one of two equal spans."""
    whole = load_n_per_mm * span_mm
    return Bending(
        49 * whole * span_mm / 512,
        whole * span_mm / 16,
        (7 * whole / 16, 5 * whole / 8, -whole / 16),
        0.0091506 * whole * span_mm**3 / (e_mpa * i_mm4),
    )


def mid_rail_deflection_mm(
    load_n: float, span_mm: float, height_mm: float, rail_ei: float, post_ei: float
) -> float:
    """Give how far the middle of a rail moves with the posts at its ends. [mm]

    Args:
        load_n: Square to the guard, at the middle of the rail. [N]
        span_mm: Between the posts. [mm]
        height_mm: Of the rail above the rigid foot of the posts. [mm]
        rail_ei, post_ei: Stiffness E I of rail and post. [N mm2]
    """
    return load_n * span_mm**3 / (48 * rail_ei) + load_n / 2 * height_mm**3 / (3 * post_ei)


def mid_rail_under_line_mm(
    load_n_per_mm: float, span_mm: float, height_mm: float, rail_ei: float, post_ei: float
) -> float:
    """Give the same for a line load along every span, each post taking a whole one. [mm]

    5 w L^4 / 384 E I of the rail, and w L h^3 / 3 E I of the posts. [N/mm] for the load.
    """
    rail = 5 * load_n_per_mm * span_mm**4 / (384 * rail_ei)
    return rail + load_n_per_mm * span_mm * height_mm**3 / (3 * post_ei)


def e985_mid_rail_mm(height_mm: float, span_mm: float) -> float:
    """Give the limit of ASTM E985 on outward movement of a rail's middle, h/24 + l/96. [mm]"""
    return height_mm / 24 + span_mm / 96


def e985_post_mm(height_mm: float) -> float:
    """Give the limit of ASTM E985 on the movement of a post's top, h/12. [mm]"""
    return height_mm / 12


def e985_downward_mm(span_mm: float) -> float:
    """Give the limit of ASTM E985 on the sag of a rail's middle, l/96. [mm]"""
    return span_mm / 96


BS_6180_MM = 25.0  # BS 6180:1999 6.4.1, horizontal displacement of a barrier under design load
TEST_FACTOR = 2.5  # of the design load, by which guards are proved in tests

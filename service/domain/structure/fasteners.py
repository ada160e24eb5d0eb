"""Lag screws and bolts: withdrawal, tension, distances and holes.

Units: N, mm, MPa. The equations are empirical in inches and pounds; their constants are converted
once here, from the original ones.

Sources: National Design Specification for Wood Construction (NDS) equation and table of lag screw
withdrawal, its table of load duration factors and of adjustments, read as public plan sets quote
them; ASME B18.2.1 for thread lengths. What is from memory says so.
"""

import math
from dataclasses import dataclass

INCH_MM = 25.4
_POUND_N = 4.4482216152605
_WITHDRAWAL = 1800 * _POUND_N / INCH_MM  # N per mm of thread at G 1 and D 1 in
WET_WITHDRAWAL = 0.7  # C_M over 19 % moisture in service, from memory
WET_BEARING = 0.67  # C_M on bearing across the grain, from memory
END_GRAIN = 0.75  # C_eg
FASTENER_F_U_MPA = 413.685  # 60 ksi, from memory
TENSION_FACTOR = 0.75 / 2  # nominal 0.75 F_u over a factor of 2, from memory
# Range of the table behind the withdrawal equation.
GRAVITIES = (0.31, 0.73)
DIAMETERS_MM = (INCH_MM / 4, 1.25 * INCH_MM)
LEAST_PENETRATION = 4  # diameters of thread, tip left out
LEAST_EDGE = 1.5  # diameters, from memory
LEAST_END = 4  # diameters, from memory
LEAST_SPACING = 4  # diameters, from memory

# Load duration factor by name; more than 1.6 is not for connections.
DURATIONS = {
    "permanent": 0.9,
    "ten years": 1.0,
    "two months": 1.15,
    "seven days": 1.25,
    "ten minutes": 1.6,
    "impact": 2.0,
}
LONGEST_FOR_CONNECTIONS = 1.6


@dataclass(frozen=True, slots=True)
class Adjustments:
    """Factors on a reference withdrawal value.

    Attributes:
        duration: C_D, how long the load lasts.
        moisture: C_M, in service.
        temperature: C_t.
        end_grain: C_eg, 0.75 into end grain.
        toe_nail: C_tn.
    """

    duration: float = 1.0
    moisture: float = WET_WITHDRAWAL
    temperature: float = 1.0
    end_grain: float = 1.0
    toe_nail: float = 1.0

    @property
    def product(self) -> float:
        """All of them multiplied."""
        return self.duration * self.moisture * self.temperature * self.end_grain * self.toe_nail


@dataclass(frozen=True, slots=True)
class Holes:
    """Holes to drill for a lag screw.

    Attributes:
        clearance_mm: For the unthreaded shank, its full depth. [mm]
        lead_least_mm, lead_most_mm: For the thread. [mm]
        gravity_class: Which row of the table, such as "G over 0.5 to 0.6".
    """

    clearance_mm: float
    lead_least_mm: float
    lead_most_mm: float
    gravity_class: str


def lag_withdrawal_n_per_mm(gravity: float, diameter_mm: float) -> float:
    """Give the reference withdrawal value per length of thread, W = 1800 G^1.5 D^0.75. [N/mm]

    Side grain, dry, C_D 1.0; for gravities of 0.31 to 0.73 and diameters of 1/4 to 1-1/4 in.

    Args:
        gravity: Specific gravity as NDS assigns it, oven-dry weight and volume.
        diameter_mm: Nominal diameter, of the unthreaded shank. [mm]

    Example:
        >>> round(lag_withdrawal_n_per_mm(0.50, 9.525) * 25.4 / 4.4482216152605)
        305
    """
    return float(_WITHDRAWAL * gravity**1.5 * (diameter_mm / INCH_MM) ** 0.75)


def withdrawal_holds(gravity: float, diameter_mm: float) -> bool:
    """Tell whether the equation of ``lag_withdrawal_n_per_mm`` is within its range.

    Example:
        >>> withdrawal_holds(0.55, 9.525), withdrawal_holds(0.55, 5.0), withdrawal_holds(0.8, 9.525)
        (True, False, False)
    """
    (light, dense), (thin, thick) = GRAVITIES, DIAMETERS_MM
    return light <= gravity <= dense and thin - 1e-9 <= diameter_mm <= thick + 1e-9


def thread_length_mm(length_mm: float) -> float:
    """Give the least thread of a lag screw, min(L/2 + 0.5 in, 6 in). [mm]"""
    return min(length_mm / 2 + INCH_MM / 2, 6 * INCH_MM)


def penetration_mm(length_mm: float, thread_mm: float, side_mm: float, tip_mm: float) -> float:
    """Give the thread that holds in the main member, nothing below zero. [mm]

    Args:
        length_mm: Under the head. [mm]
        thread_mm: Thread with its tip. [mm]
        side_mm: What lies between the head and the holding timber: plate and decking. [mm]
        tip_mm: Tapered tip. [mm]
    """
    return max(0.0, min(thread_mm - tip_mm, length_mm - side_mm - tip_mm))


def lead_hole_mm(gravity: float, diameter_mm: float) -> Holes:
    """Give the holes for a lag screw by the density of the timber; percentages from memory.

    Example:
        >>> holes = lead_hole_mm(0.42, 9.525)
        >>> round(holes.lead_least_mm / 25.4, 4), round(holes.lead_most_mm / 25.4, 4)
        (0.15, 0.2625)
    """
    if gravity > 0.6:
        least, most, name = 0.65, 0.85, "G over 0.6"
    elif gravity > 0.5:
        least, most, name = 0.60, 0.75, "G over 0.5 to 0.6"
    else:
        least, most, name = 0.40, 0.70, "G up to 0.5"
    return Holes(diameter_mm, least * diameter_mm, most * diameter_mm, name)


def tension_n(diameter_mm: float) -> float:
    """Give the allowable tension of steel at a diameter, 0.75 F_u / 2 on its area. [N]

    Give the root's diameter for a lag screw, which is conservative, and the nominal one for a
    bolt, whose thread the 0.75 stands for.
    """
    return TENSION_FACTOR * FASTENER_F_U_MPA * math.pi * diameter_mm**2 / 4


def combined_n(withdrawal_n: float, lateral_n: float, angle_deg: float) -> float:
    """Give the strength of a lag screw pulled at an angle to the surface. [N]

    Z'a = W'p Z' / (W'p cos2 a + Z' sin2 a), from memory.

    Args:
        withdrawal_n: Adjusted withdrawal strength of the whole thread, W'p. [N]
        lateral_n: Adjusted lateral strength, Z'. [N]
        angle_deg: Between the load and the surface of the timber. [deg]
    """
    along, across = math.cos(math.radians(angle_deg)) ** 2, math.sin(math.radians(angle_deg)) ** 2
    return withdrawal_n * lateral_n / (withdrawal_n * along + lateral_n * across)


def washer_bearing_n(washer_mm: float, hole_mm: float, f_c_mpa: float) -> float:
    """Give what the timber under a round washer bears. [N]"""
    return math.pi * (washer_mm**2 - hole_mm**2) / 4 * f_c_mpa

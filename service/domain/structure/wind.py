"""Wind on infill.

Sources: ASCE 7 velocity pressure, its constant and two worked values read in public permit
calculations; force coefficients by solidity from memory.
"""

_PSF_PA = 47.88025898033584
_MPH_M_S = 0.44704
_Q_PA = 0.00256 * _PSF_PA / _MPH_M_S**2  # the constant of the code's formula, per (m/s)2
SERVICE = 0.6  # factor on wind for allowable stress design


def velocity_pressure_pa(
    speed_m_s: float, exposure: float = 0.85, topography: float = 1.0, direction: float = 0.85
) -> float:
    """Give q = 0.00256 K_z K_zt K_d V^2 (psf, mph). [Pa]

    Args:
        speed_m_s: Basic wind speed. [m/s]
        exposure: K_z; 0.85 is exposure C up to 15 ft, from memory.
        topography: K_zt.
        direction: K_d.
    """
    return _Q_PA * exposure * topography * direction * speed_m_s**2


def force_coefficient(solidity: float) -> float | None:
    """Give C_f of flat members by the solid share of the face; None past the table (memory).

    Example:
        >>> [force_coefficient(part) for part in (0.05, 0.2, 0.5, 1.0)]
        [2.0, 1.8, 1.6, None]
    """
    if solidity < 0.1:
        return 2.0
    if solidity < 0.3:
        return 1.8
    return 1.6 if solidity <= 0.7 else None


def face_pressure_pa(
    pressure_pa: float, coefficient: float, solidity: float, gust: float = 0.85
) -> float:
    """Give the service pressure on the whole face, 0.6 q G C_f times its solid share. [Pa]"""
    return SERVICE * pressure_pa * gust * coefficient * solidity

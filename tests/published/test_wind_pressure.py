"""Wind pressure against two public permit calculations (WIND rows of ``data/structure.json``)."""

import pytest

from service.domain.structure.wind import (
    SERVICE,
    face_pressure_pa,
    velocity_pressure_pa,
)
from tests.published.structure_table import given, within

PSF = 47.88025898033584  # Pa
MPH = 0.44704  # m/s


def test_velocity_pressure() -> None:
    case = given("WIND-Q")
    pressure = velocity_pressure_pa(case["V_mph"] * MPH, case["Kz"], case["Kzt"], case["Kd"])
    assert pressure / PSF == within("WIND-Q")


def test_service_pressure_of_180_mph() -> None:
    case = given("WIND-QBASE")
    assert case["asd"] == SERVICE
    pressure = velocity_pressure_pa(case["V_mph"] * MPH, 1.0, 1.0, case["Kd"])
    assert SERVICE * pressure / PSF == within("WIND-QBASE")


def test_worked_picket_infill() -> None:
    """115 mph, K_z 0.85: 24.46 psf; G 0.85 and C_f 1.8 give 22.5 psf of solid area in service."""
    pressure = velocity_pressure_pa(115 * MPH)
    assert pressure / PSF == pytest.approx(24.46, abs=5e-3)
    assert face_pressure_pa(pressure, 1.8, 1.0) / PSF == pytest.approx(22.5, abs=0.05)

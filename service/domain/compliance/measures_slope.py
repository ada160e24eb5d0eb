"""Measures of what ought to be level or upright about a stair: treads, landings, risers."""

from collections.abc import Iterator
from fractions import Fraction

from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measurement import Measurement

SLOPE_STEPS = 3_600_000  # of a slope of 1:1
ANGLE_STEPS = 3_600  # seconds of arc in a degree


def stair_slopes(seen: Inspection) -> Iterator[Measurement]:
    """Give the steepest slope of each flight's treads and of its landings, as taped."""
    for flight in seen.flights.values():
        for things, slope in (
            ("treads", flight.facts.tread_slope),
            ("landings", flight.facts.landing_slope),
        ):
            steps = None if slope is None else slope * SLOPE_STEPS
            note = f"Steepest of the {things}, as taped."
            if slope is None:
                note = f"The slope of the {things} was not taped."
            yield Measurement(flight.name, steps, seen.flight_attributes[flight.name], note)


def riser_leans(seen: Inspection) -> Iterator[Measurement]:
    """Give how far each flight's risers lean from upright, as taped."""
    for flight in seen.flights.values():
        lean_deg = flight.facts.riser_lean_deg
        seconds = None if lean_deg is None else abs(Fraction(lean_deg)) * ANGLE_STEPS
        note = "The lean of the risers was not taped." if lean_deg is None else "As taped."
        yield Measurement(flight.name, seconds, seen.flight_attributes[flight.name], note)

"""Measures of a stair's own steps: risers, treads, nosings, pitch, width, landings."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import atan2, degrees

from service.domain.compliance.exact import Measured, Span
from service.domain.compliance.flights import Flight
from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.compliance.site import RiserKind
from service.domain.layout.deck import Side

STAIR_ATTRIBUTES = frozenset({"rails", "risers", "total_rise", "tread", "riser_kind", "width"})
# Seconds of arc within which the float angle of a flight is surely known.
ANGLE_STEP = Fraction(1, 1_000_000)


def _taken(seen: Inspection, flight: Flight, value: Measured | None, note: str = "") -> Measurement:
    return Measurement(flight.name, value, seen.flight_attributes[flight.name], note)


def _both_ends(
    seen: Inspection, flight: Flight, taped: Sequence[int], note: str
) -> Iterator[Measurement]:
    for value in dict.fromkeys((min(taped), max(taped))):
        yield _taken(seen, flight, value, note)


def stair_risers(seen: Inspection) -> Iterator[Measurement]:
    """Measure the riser: the lowest and the highest taped, else the total rise shared evenly."""
    for flight in seen.flights.values():
        if flight.facts.risers_nm:
            yield from _both_ends(seen, flight, flight.facts.risers_nm, "As taped.")
        else:
            note = "Total rise shared by the risers."
            yield _taken(seen, flight, flight.unit_rise_nm, note)


def stair_treads(seen: Inspection) -> Iterator[Measurement]:
    """Measure the tread from nosing to nosing: the extremes taped, else the unit run."""
    for flight in seen.flights.values():
        if flight.facts.treads_nm:
            yield from _both_ends(seen, flight, flight.facts.treads_nm, "As taped.")
        else:
            yield _taken(seen, flight, flight.unit_run_nm)


def stair_nosings(seen: Inspection) -> Iterator[Measurement]:
    """Measure how far a nosing projects past the riser below: the extremes taped, else the one."""
    for flight in seen.flights.values():
        if flight.facts.nosings_nm:
            yield from _both_ends(seen, flight, flight.facts.nosings_nm, "As taped.")
        else:
            note = "" if flight.stair.nosing_nm else "No nosing projection was given."
            yield _taken(seen, flight, flight.stair.nosing_nm, note)


def _spread(taped: Sequence[int]) -> int | None:
    return max(taped) - min(taped) if taped else None


def _step(taped: Sequence[int]) -> int | None:
    return max((abs(b - a) for a, b in pairwise(taped)), default=0) if taped else None


def riser_spreads(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest riser of a flight less the smallest, as taped."""
    for flight in seen.flights.values():
        yield _single(seen, flight, _spread(flight.facts.risers_nm), "risers")


def riser_steps(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest difference between two risers that follow each other, as taped."""
    for flight in seen.flights.values():
        yield _single(seen, flight, _step(flight.facts.risers_nm), "risers")


def tread_spreads(seen: Inspection) -> Iterator[Measurement]:
    """Measure the deepest tread of a flight less the shallowest, as taped."""
    for flight in seen.flights.values():
        yield _single(seen, flight, _spread(flight.facts.treads_nm), "treads")


def tread_steps(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest difference between two treads that follow each other, as taped."""
    for flight in seen.flights.values():
        yield _single(seen, flight, _step(flight.facts.treads_nm), "treads")


def nosing_spreads(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest nosing of a flight less the smallest, as taped."""
    for flight in seen.flights.values():
        yield _single(seen, flight, _spread(flight.facts.nosings_nm), "nosings")


def _single(seen: Inspection, flight: Flight, value: int | None, things: str) -> Measurement:
    note = f"As taped, {things} one by one."
    if value is None:
        note = f"Single {things} were not taped; they are taken as equal. Tape each as built."
    return _taken(seen, flight, value, note)


def step_sums(seen: Inspection) -> Iterator[Measurement]:
    """Measure twice the riser and one going."""
    for flight in seen.flights.values():
        yield _taken(seen, flight, 2 * flight.unit_rise_nm + flight.unit_run_nm)


def stair_pitches(seen: Inspection) -> Iterator[Measurement]:
    """Measure the angle of the nosing line, in seconds of arc between two sure bounds."""
    for flight in seen.flights.values():
        rake = flight.plan.rake
        seconds = Fraction(degrees(atan2(rake.rise_nm, rake.run_nm))) * 3600
        yield _taken(seen, flight, Span(seconds - ANGLE_STEP, seconds + ANGLE_STEP))


def riser_counts(seen: Inspection) -> Iterator[Measurement]:
    """Count the risers of each flight."""
    for flight in seen.flights.values():
        yield _taken(seen, flight, flight.risers)


def riser_gaps(seen: Inspection) -> Iterator[Measurement]:
    """Measure the clear gap between treads where the risers are open."""
    for flight in seen.flights.values():
        thickness = flight.facts.tread_thickness_nm
        gap, note = None, "How thick the treads are is not described."
        if flight.facts.riser_kind is RiserKind.SOLID:
            note = ""
        elif thickness is not None:
            highest = max(flight.facts.risers_nm, default=flight.unit_rise_nm)
            gap, note = highest - thickness, "Riser less the thickness of a tread."
        yield _taken(seen, flight, gap, note)


def nosing_radii(seen: Inspection) -> Iterator[Measurement]:
    """Give the rounding of the leading edges, as taped."""
    for flight in seen.flights.values():
        radius = flight.facts.nosing_radius_nm
        note = "The edge of the treads is not described." if radius is None else "As taped."
        yield _taken(seen, flight, radius, note)


def headrooms(seen: Inspection) -> Iterator[Measurement]:
    """Give the least headroom over each flight, as taped."""
    for flight in seen.flights.values():
        headroom = flight.facts.headroom_nm
        note = "What stands over the stair is not described." if headroom is None else "As taped."
        yield _taken(seen, flight, headroom, note)


def flight_rises(seen: Inspection) -> Iterator[Measurement]:
    """Measure the rise of each flight between its landings."""
    for flight in seen.flights.values():
        yield _taken(seen, flight, flight.plan.rake.rise_nm)


def landing_depths(seen: Inspection) -> Iterator[Measurement]:
    """Measure the landings at head and foot and between flights, in the direction of travel."""
    for flight in seen.flights.values():
        for place, depth in (
            ("top", seen.landing_above(flight)),
            ("bottom", seen.landing_below(flight)),
        ):
            attributes = {**seen.flight_attributes[flight.name], "landing": place}
            note = f"Landing at the {place}."
            if depth is None:
                note = f"The depth of the landing at the {place} was not taped."
            yield Measurement(flight.name, depth, attributes, note)


def stair_widths_between_rails(seen: Inspection) -> Iterator[Measurement]:
    """Measure the clear width at and below the rails, handrails on brackets taken off."""
    for flight in seen.flights.values():
        taken = sum(handrail.projection_nm for handrail in flight.bracketed)
        yield _taken(seen, flight, flight.plan.clear_width_nm - taken)


def stair_widths_between_guards(seen: Inspection) -> Iterator[Measurement]:
    """Measure the clear width between walls and guards, where handrails may project into it."""
    for flight in seen.flights.values():
        yield _taken(seen, flight, flight.plan.clear_width_nm)


def stair_widths_above_rails(seen: Inspection) -> Iterator[Measurement]:
    """Measure the width of the stair above its rails, where nothing but post tops stands in it."""
    for flight in seen.flights.values():
        note = "Full width of the stair; tops of posts above the rail are not taken off."
        yield _taken(seen, flight, flight.stair.width_nm, note)


def undescribed_stairs(seen: Inspection) -> Iterator[Measurement]:
    """Name each stair, for what a request does not describe of it."""
    for flight in seen.flights.values():
        yield _taken(seen, flight, None)


def walled_sides(flight: Flight) -> list[Side]:
    """Give the sides of a flight that have a wall."""
    return sorted(set(Side) - flight.stair.open_sides)

"""Measures of a stair's own steps: risers, treads, nosings, width, rise of the flight."""

from collections.abc import Iterator

from service.domain.compliance.elements import stair_runs, stairs, unit_rise_nm, unit_run_nm
from service.domain.compliance.exact import Exact
from service.domain.compliance.measurement import Attribute, Measurement
from service.domain.layout.deck import Side, Stair
from service.domain.layout.records import Layout, StairPlan

STAIR_ATTRIBUTES = frozenset({"rails", "risers", "total_rise", "tread", "riser_kind"})


def _measure(
    layout: Layout, stair: Stair, plan: StairPlan, value: Exact | None, note: str = ""
) -> Measurement:
    attributes: dict[str, Attribute] = {
        "rails": str(len(stair_runs(layout, stair.name))),
        "risers": stair.risers,
        "total_rise": plan.rake.rise_nm,
        "tread": unit_run_nm(stair, plan),
        "riser_kind": None,
    }
    return Measurement(stair.name, value, attributes, note)


def stair_risers(layout: Layout) -> Iterator[Measurement]:
    """Measure the riser: the total rise shared evenly, exactly."""
    for stair, plan in stairs(layout):
        yield _measure(
            layout, stair, plan, unit_rise_nm(stair, plan), "Total rise shared by the risers."
        )


def stair_treads(layout: Layout) -> Iterator[Measurement]:
    """Measure the tread from nosing to nosing."""
    for stair, plan in stairs(layout):
        yield _measure(layout, stair, plan, unit_run_nm(stair, plan))


def stair_nosings(layout: Layout) -> Iterator[Measurement]:
    """Measure how far a nosing projects past the riser below."""
    for stair, plan in stairs(layout):
        note = "" if stair.nosing_nm else "No nosing projection was given."
        yield _measure(layout, stair, plan, stair.nosing_nm, note)


def flight_rises(layout: Layout) -> Iterator[Measurement]:
    """Measure the rise of each flight between its landings."""
    for stair, plan in stairs(layout):
        yield _measure(layout, stair, plan, plan.rake.rise_nm)


def stair_widths_between_rails(layout: Layout) -> Iterator[Measurement]:
    """Measure the clear width at and below the rails."""
    for stair, plan in stairs(layout):
        yield _measure(layout, stair, plan, plan.clear_width_nm)


def stair_widths_above_rails(layout: Layout) -> Iterator[Measurement]:
    """Measure the width of the stair above its rails, where nothing but post tops stands in it."""
    for stair, plan in stairs(layout):
        yield _measure(
            layout,
            stair,
            plan,
            stair.width_nm,
            "Full width of the stair; tops of posts above the rail are not taken off.",
        )


def undescribed_stairs(layout: Layout) -> Iterator[Measurement]:
    """Name each stair, for what a request does not describe of it."""
    for stair, plan in stairs(layout):
        yield _measure(layout, stair, plan, None)


def walled_stair_sides(layout: Layout) -> Iterator[Measurement]:
    """Name each stair that has a wall beside it, once for each such side."""
    for stair, plan in stairs(layout):
        for side in sorted(set(Side) - stair.open_sides):
            yield _measure(layout, stair, plan, None, f"Wall on the {side} side.")

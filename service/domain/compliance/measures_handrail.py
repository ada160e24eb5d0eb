"""Measures of handrails: need, sides, height, reach along the flight, ends, extensions.

A flight's handrails on brackets are its handrails; where it has none, the top rails of its guard
are taken for them.
"""

from collections.abc import Iterator
from itertools import pairwise

from service.domain.compliance.flights import Flight, ratio
from service.domain.compliance.inspection import Attribute, Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.compliance.measures_stair import walled_sides
from service.domain.layout.deck import Footing, Point, Side
from service.domain.layout.records import Post, PostPosition, Run, StairPlan
from service.domain.layout.stair_records import Handrail
from service.domain.layout.system import Method

HANDRAIL_ATTRIBUTES = frozenset({"risers", "width", "total_rise"})
AS_HANDRAIL = "The top rail of the stair guard is taken as the handrail."
ON_BRACKETS = "Handrail on brackets."


def about(flight: Flight) -> dict[str, Attribute]:
    """Describe a flight for the conditions of clauses on handrails."""
    return {
        "risers": flight.risers,
        "width": flight.stair.width_nm,
        "total_rise": flight.plan.rake.rise_nm,
    }


def handrail_needs(seen: Inspection) -> Iterator[Measurement]:
    """Count the risers of each flight, and say whether a rail runs along it.

    Beside a wall a handrail may stand that the layout does not describe.
    """
    for flight in seen.flights.values():
        if flight.bracketed:
            present, note = True, "Handrails on brackets run along it."
        elif flight.runs:
            present, note = True, f"{AS_HANDRAIL} It must pass the clauses on height and grip too."
        elif not walled_sides(flight):
            present, note = False, "Both sides are open and no rail runs along the stair."
        else:
            present, note = None, "A handrail on the wall beside the stair is not described."
        yield Measurement(flight.name, flight.risers, about(flight), note, present)


def handrail_rises(seen: Inspection) -> Iterator[Measurement]:
    """Measure the change of level of each flight, and say whether a rail runs along it."""
    for need in handrail_needs(seen):
        rise = seen.flights[need.element].plan.rake.rise_nm
        yield Measurement(need.element, rise, need.attributes, need.note, need.present)


def handrail_sides(seen: Inspection) -> Iterator[Measurement]:
    """Count the sides of each flight that have a handrail."""
    for flight in seen.flights.values():
        bare = [side for side in walled_sides(flight) if side not in flight.railed]
        value, note = len(flight.railed), ""
        if bare and not flight.bracketed:
            note = f"A handrail on the wall on the {' and '.join(bare)} side is not described."
        yield Measurement(flight.name, None if note else value, about(flight), note)


def handrail_heights(seen: Inspection) -> Iterator[Measurement]:
    """Measure the top of each stair's handrail above the nosing line."""
    for flight, handrail in _bracketed(seen):
        yield Measurement(handrail.name, handrail.height_nm, about(flight), ON_BRACKETS)
    height = seen.layout.system.stair_guard_height_nm
    for section, _run, flight in seen.stair_sections:
        if not flight.bracketed:
            yield Measurement(section.name, height, about(flight), AS_HANDRAIL)


def _bracketed(seen: Inspection) -> Iterator[tuple[Flight, Handrail]]:
    for flight in seen.flights.values():
        for handrail in flight.bracketed:
            yield flight, handrail


def handrail_continuity(seen: Inspection) -> Iterator[Measurement]:
    """See whether each rail runs unbroken from above the top riser to above the lowest one."""
    for flight in seen.flights.values():
        for handrail in flight.bracketed:
            reasons = _short(handrail.start_nm, handrail.end_nm, lowest_riser_nm(flight))
            note = " ".join([f"{ON_BRACKETS} {handrail.side.capitalize()} side.", *reasons])
            yield Measurement(handrail.name, int(not reasons), about(flight), note)
        for side, run in [] if flight.bracketed else sorted(flight.runs.items()):
            reasons = _breaks(seen, flight, run)
            note = " ".join([f"Rail on the {side} side.", *reasons])
            yield Measurement(flight.name, int(not reasons), about(flight), note)


def lowest_riser_nm(flight: Flight) -> int:
    """Give the distance from the top nosing to the lowest riser, horizontal. [nm]"""
    return (flight.risers - 1) * flight.stair.unit_run_nm - flight.stair.nosing_nm


def _short(start_nm: int, end_nm: int, lowest_nm: int) -> list[str]:
    reasons = []
    if start_nm > 0:
        reasons.append("It begins beyond the top riser.")
    if end_nm < lowest_nm:
        reasons.append("It ends before the lowest riser.")
    return reasons


def _breaks(seen: Inspection, flight: Flight, run: Run) -> list[str]:
    top, bottom = seen.posts[run.start], seen.posts[run.end]
    lowest = lowest_riser_nm(flight)
    if bottom.surface == Footing.TREAD:
        # A starting newel may stand on the lowest tread, which reaches one run up from its nosing.
        lowest -= flight.stair.unit_run_nm - flight.stair.nosing_nm
    plan = flight.plan
    reasons = _short(_down_the_stair_nm(plan, top.at), _down_the_stair_nm(plan, bottom.at), lowest)
    if len(run.bays) > 1 and seen.layout.system.method is Method.BETWEEN_POSTS:
        reasons.append(
            "Posts between its ends break it, and a newel may do so only at a turn. Rails that "
            "run past the posts, a span without a post on the flight, or a handrail on brackets "
            "beside the guard would cure it."
        )
    return reasons


def _down_the_stair_nm(plan: StairPlan, at: Point) -> int:
    """Project a plan point on the walking line: 0 at the top nosing, growing downwards. [nm]"""
    (left_x, left_y), _right = plan.top
    return round((at[0] - left_x) * plan.down[0] + (at[1] - left_y) * plan.down[1])


def handrail_ends(seen: Inspection) -> Iterator[Measurement]:
    """See whether each rail's ends are returned, or stop in a post that reaches up to it."""
    for flight, handrail in _bracketed(seen):
        note = ON_BRACKETS if handrail.returns_nm else f"{ON_BRACKETS} Its ends are not returned."
        yield Measurement(handrail.name, int(bool(handrail.returns_nm)), about(flight), note)
    for section, _run, flight in seen.stair_sections:
        if flight.bracketed:
            continue
        short = [
            end.post
            for end in (section.start, section.end)
            if end.post not in seen.posts
            or not reaches_rail(seen, flight.plan, seen.posts[end.post])
        ]
        note = f"Post {' and '.join(short)} does not reach up to the rail." if short else ""
        yield Measurement(section.name, int(not short), about(flight), note)


def reaches_rail(seen: Inspection, plan: StairPlan, post: Post) -> bool:
    """Tell whether a post stands up to the underside of a flight's top rail."""
    system, rake = seen.layout.system, plan.rake
    if post.position is PostPosition.EXISTING:
        return True
    sunk = system.fascia_drop_nm if post.surface == "fascia" else 0
    # A post of the landing or level below is measured from that level's own surface.
    below = rake.rise_nm if post.level != plan.level else 0
    top = post.base_nm + post.height_nm - sunk - below
    underside = system.stair_guard_height_nm - system.top_rail.depth_nm
    # underside less what the nosing line has fallen at the post; times the run to stay whole
    fallen = rake.rise_nm * _down_the_stair_nm(plan, post.at)
    return (top - underside) * rake.run_nm >= -fallen


def handrail_clearances(seen: Inspection) -> Iterator[Measurement]:
    """Measure the clear gap between each handrail and the wall or guard it is fixed to."""
    for flight, handrail in _bracketed(seen):
        yield Measurement(handrail.name, handrail.clearance_nm, about(flight), ON_BRACKETS)
    yield from _undescribed_on_walls(seen)


def handrail_projections(seen: Inspection) -> Iterator[Measurement]:
    """Measure how far each handrail projects from the wall or guard into the width."""
    for flight, handrail in _bracketed(seen):
        yield Measurement(handrail.name, handrail.projection_nm, about(flight), ON_BRACKETS)
    yield from _undescribed_on_walls(seen)


def _undescribed_on_walls(seen: Inspection) -> Iterator[Measurement]:
    for flight in seen.flights.values():
        for side in walled_sides(flight):
            if side not in flight.railed:
                note = f"Wall on the {side} side. No handrail on it is described."
                yield Measurement(flight.name, None, about(flight), note)


def handrail_top_extensions(seen: Inspection) -> Iterator[Measurement]:
    """Measure how far each handrail goes on level beyond the top riser."""
    for flight, handrail in _bracketed(seen):
        yield Measurement(handrail.name, handrail.top_extension_nm, about(flight), ON_BRACKETS)
    for flight, side in _top_rails(seen):
        note = f"{AS_HANDRAIL} On the {side} side it stops in its top post."
        yield Measurement(flight.name, 0, about(flight), note)


def handrail_bottom_extensions(seen: Inspection) -> Iterator[Measurement]:
    """See whether each handrail goes on for one tread depth beyond the lowest riser."""
    for flight, handrail in _bracketed(seen):
        beyond = handrail.end_nm - lowest_riser_nm(flight)
        goes_on = int(beyond >= flight.unit_run_nm)
        yield Measurement(handrail.name, goes_on, about(flight), ON_BRACKETS)
    for flight, side in _top_rails(seen):
        foot = seen.posts[flight.runs[side].end]
        beyond = _down_the_stair_nm(flight.plan, foot.at) - lowest_riser_nm(flight)
        note = f"{AS_HANDRAIL} On the {side} side it stops in its bottom post."
        yield Measurement(flight.name, int(beyond >= flight.unit_run_nm), about(flight), note)


def _top_rails(seen: Inspection) -> Iterator[tuple[Flight, Side]]:
    for flight in seen.flights.values():
        if not flight.bracketed:
            for side in sorted(flight.runs):
                yield flight, side


def handrail_reaches(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest distance across the stair from any place to a handrail."""
    for flight in seen.flights.values():
        clear = flight.plan.clear_width_nm - sum(h.projection_nm for h in flight.bracketed)
        if flight.railed:
            reach = ratio(clear, 2) if len(flight.railed) == len(Side) else clear
            yield Measurement(flight.name, reach, about(flight))
        else:
            yield Measurement(flight.name, None, about(flight), "No handrail is described.")


def handrail_bracket_spacings(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest distance between two brackets, along the handrail."""
    for flight, handrail in _bracketed(seen):
        spacing = max((b - a for a, b in pairwise(handrail.brackets_nm)), default=0)
        yield Measurement(handrail.name, spacing, about(flight), ON_BRACKETS)

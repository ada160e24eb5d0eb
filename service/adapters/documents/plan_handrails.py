"""Handrails of a plan: a thin line beside the wall or guard, its ends turned back."""

from collections.abc import Iterator

from service.adapters.documents.labels import SMALL, label
from service.adapters.documents.plan_geometry import Vector, moved_point, unit
from service.adapters.documents.plan_page import PlanPage, on_paper
from service.adapters.documents.primitives import Group, Layer, Polyline
from service.domain.layout.deck import Side
from service.domain.layout.records import StairPlan
from service.domain.layout.stair_records import Handrail, HandrailMount


def draw_handrails(page: PlanPage) -> Iterator[Group]:
    """Draw the handrails of the plan's flights."""
    flights = {stair.name: stair for stair in page.flights}
    for handrail in page.layout.handrails:
        stair = flights.get(handrail.stair)
        if stair is None:
            continue
        foot, inward = held_at(page, stair, handrail)
        off = (handrail.clearance_nm + handrail.projection_nm) / 2
        near = off if handrail.returns_nm else 0.0
        ends = (handrail.start_nm - handrail.top_extension_nm, handrail.end_nm)
        places = [(ends[0], off - near), (ends[0], off), (ends[1], off), (ends[1], off - near)]
        points = [
            page.view.at(moved_point(foot, (stair.down, down), (inward, side)))
            for down, side in (places if near else places[1:3])
        ]
        page.cross(points[0], points[-1])
        line = Polyline(tuple(points), Layer.HANDRAIL)
        middle = moved_point(foot, (stair.down, 0.35 * ends[1]), (inward, off))
        text = label(page.taken, page.view.at(middle), on_paper(inward), handrail.name, SMALL)
        title = (
            f"Handrail {handrail.name} of stair {handrail.stair}, {handrail.side} side, on the "
            f"{handrail.mount}"
        )
        yield Group(f"handrail-{handrail.name}", title, (line, *text))


def held_at(page: PlanPage, stair: StairPlan, handrail: Handrail) -> tuple[Vector, Vector]:
    """Give the place in line with the top nosing that a handrail is measured from, and inward.

    On a wall that is the stair's side; on a guard the inner face of its posts.
    """
    left, right = stair.top
    corner = left if handrail.side is Side.LEFT else right
    inward = unit(left, right) if handrail.side is Side.LEFT else unit(right, left)
    run = next(
        (run for run in page.runs if (run.stair, run.side) == (stair.name, handrail.side)), None
    )
    if handrail.mount is HandrailMount.WALL or run is None:
        return moved_point(corner), inward
    x, y = page.posts[run.start].at
    reach = (x - corner[0]) * inward[0] + (y - corner[1]) * inward[1]
    half = page.layout.system.post_width_nm / 2
    return moved_point(corner, (inward, reach + half)), inward

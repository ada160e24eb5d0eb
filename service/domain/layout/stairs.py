"""One straight flight: rake, posts on it, its raked rails and plumb pickets.

Along a flight, x is the horizontal distance from the top nosing, down the stair positive. The
nosing line passes the top nosing and falls by the total rise over risers x unit run.

Source: riser and tread counts as in US Navy NAVEDTRA 14044 and Army EN5156 (treads = risers - 1);
rake angle, slope length, plumb-cut depth and post heights are plane trigonometry, checked in
``tests/published``. Where posts stand on a flight is common practice, no source.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.advised import at_least
from service.domain.layout.deck import Footing, Stair
from service.domain.layout.records import Rake
from service.domain.layout.system import Mount, RailingSystem
from service.domain.lengths import mm_of, snap_mm


def rake_of(stair: Stair) -> Rake:
    """Give the slope of a flight's nosing line."""
    run_nm = stair.risers * stair.unit_run_nm
    angle = math.degrees(math.atan2(stair.total_rise_nm, run_nm))
    return Rake(stair.total_rise_nm, run_nm, angle)


def fall_nm(rake: Rake, horizontal_nm: int) -> int:
    """Say how far the nosing line falls over a horizontal distance, to the nanometre. [nm]

    Example:
        >>> fall_nm(Rake(300, 400, 36.87), 80)
        60
    """
    return round(rake.rise_nm * horizontal_nm / rake.run_nm)


def slope_nm(rake: Rake, horizontal_nm: int) -> int:
    """Give the length along the slope over a horizontal distance: horizontal / cos(rake). [nm]

    Example:
        >>> slope_nm(Rake(300, 400, 36.87), 80)
        100
    """
    return snap_mm(mm_of(horizontal_nm) * math.hypot(rake.rise_nm, rake.run_nm) / rake.run_nm)


def level_nm(rake: Rake, slope: int) -> int:
    """Give the horizontal part of a length along the slope: slope x cos(rake). [nm]

    Example:
        >>> level_nm(Rake(300, 400, 36.87), 100)
        80
    """
    return snap_mm(mm_of(slope) * rake.run_nm / math.hypot(rake.rise_nm, rake.run_nm))


def plumb_depth_nm(rake: Rake, depth_nm: int) -> int:
    """Give the vertical face of a raked rail cut plumb: depth / cos(rake). [nm]"""
    return slope_nm(rake, depth_nm)


def blank_nm(rake: Rake, horizontal_nm: int, depth_nm: int, saw_deg: float | None = None) -> int:
    """Give the blank of a raked rail, long point to long point. [nm]

    Each edge is horizontal / cos(rake) long, and the saw cuts take depth x tan(saw) more; plumb
    ends are sawn at the rake.

    Args:
        rake: Slope of the flight.
        horizontal_nm: Between the end cuts. [nm]
        depth_nm: Depth of the rail. [nm]
        saw_deg: Angle of the cuts off square, None for plumb ends. [deg]
    """
    edge_nm = slope_nm(rake, horizontal_nm)
    if saw_deg is None or saw_deg == rake.angle_deg:
        return edge_nm + fall_nm(rake, depth_nm)
    return edge_nm + snap_mm(mm_of(depth_nm) * math.tan(math.radians(saw_deg)))


@dataclass(frozen=True, slots=True)
class FlightPost:
    """A post on or below a flight.

    Attributes:
        x_nm: Horizontal distance of its centre from the top nosing. [nm]
        base_nm: Elevation of what it stands on; the level's walking surface is 0. [nm]
        surface: "deck", "tread", "fascia" beside a tread, or the footing below.
    """

    x_nm: int
    base_nm: int
    surface: str


def tread_elevation_nm(stair: Stair, tread: int) -> int:
    """Give the elevation of the tread-th tread below the level. [nm]"""
    return -round(tread * stair.total_rise_nm / stair.risers)


def post_on_tread(stair: Stair, tread: int, system: RailingSystem) -> FlightPost:
    """Set a post at a tread, the system's set-back behind that tread's nosing.

    A fascia-mounted post hangs beside the tread, on the stair's side.
    """
    x_nm = tread * stair.unit_run_nm - system.tread_set_back_nm
    surface = Footing.TREAD.value if system.mount is Mount.SURFACE else Mount.FASCIA.value
    return FlightPost(x_nm, tread_elevation_nm(stair, tread), surface)


def bottom_post(stair: Stair, system: RailingSystem) -> FlightPost:
    """Set the bottom post: on the lowest tread, or in front of the lowest riser.

    Raises:
        UnbuildableLayout: The flight has no tread to carry it.
    """
    if stair.bottom is Footing.TREAD:
        if stair.risers < 2:
            raise UnbuildableLayout(
                f"stair {stair.name} has one riser and so no tread for a bottom post",
                element=f"stair {stair.name}",
                where=("deck", "stairs", stair.index, "bottom"),
                advice="Say that the bottom post stands on a landing, slab or grade.",
            )
        return post_on_tread(stair, stair.risers - 1, system)
    riser_x = (stair.risers - 1) * stair.unit_run_nm - stair.nosing_nm
    x_nm = riser_x + system.foot_offset_nm
    return FlightPost(x_nm, -stair.total_rise_nm, stair.bottom.value)


def flight_posts(
    stair: Stair, top_x_nm: int, foot: FlightPost, system: RailingSystem
) -> tuple[FlightPost, ...]:
    """Give the posts below the top one: as few as the span allows, the last at the bottom.

    Posts between stand on treads; each is set on the tread nearest an even division.

    Raises:
        UnbuildableLayout: The rake is steeper than the rails allow, or no tread lies within reach
            of the span.
    """
    rake = rake_of(stair)
    where = ("deck", "stairs", stair.index)
    if rake.angle_deg > system.max_rake_deg:
        least = math.ceil(mm_of(stair.unit_rise_nm) / math.tan(math.radians(system.max_rake_deg)))
        raise UnbuildableLayout(
            f"stair {stair.name} rakes at {rake.angle_deg:.1f} degrees; these rails rack to "
            f"{system.max_rake_deg:g}",
            element=f"stair {stair.name}",
            where=where,
            advice=f"A unit run of at least {least} mm, or a system that racks further, would do.",
        )
    span = system.max_stair_span_nm
    x_nm, posts = top_x_nm, list[FlightPost]()
    least_bays = -(-(foot.x_nm - top_x_nm) // span)
    for bays in range(max(1, least_bays), stair.risers + 1):
        posts = _evenly(stair, top_x_nm, foot, bays, system)
        points = [x_nm, *(post.x_nm for post in posts)]
        if all(0 < b - a <= span for a, b in pairwise(points)):
            return tuple(posts)
    raise UnbuildableLayout(
        f"stair {stair.name} has no treads where posts would keep within the stair span of "
        f"{mm_of(span):.0f} mm",
        element=f"stair {stair.name}",
        where=where,
        advice=f"A stair span of at least {at_least(stair.unit_run_nm)} is needed.",
    )


def _evenly(
    stair: Stair, top_x_nm: int, foot: FlightPost, bays: int, system: RailingSystem
) -> list[FlightPost]:
    posts = []
    for i in range(1, bays):
        ideal = top_x_nm + i * (foot.x_nm - top_x_nm) / bays
        tread = round((ideal + system.tread_set_back_nm) / stair.unit_run_nm)
        posts.append(post_on_tread(stair, min(max(tread, 1), stair.risers - 1), system))
    return [*posts, foot]


def rail_top_nm(stair: Stair, post: FlightPost, at_x_nm: int, system: RailingSystem) -> int:
    """Give the height of the stair's rail top above what a post stands on, at a place. [nm]

    At set-back s behind the nosing of a tread it is H + s tan(rake).

    Args:
        stair: The flight.
        post: Whose surface counts.
        at_x_nm: Horizontal place from the top nosing. [nm]
        system: Gives the height H above the nosing line.
    """
    return system.stair_guard_height_nm - fall_nm(rake_of(stair), at_x_nm) - post.base_nm

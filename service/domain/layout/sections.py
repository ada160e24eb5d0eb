"""Sections with their rails cut to length: what each rail enters, where each picket falls."""

from itertools import pairwise

from service.domain.layout.frame import Frame, Span, clear_openings
from service.domain.layout.records import ClearOpening, PicketRow, Rail, Rake, Section
from service.domain.layout.sequence import Placing
from service.domain.layout.stairs import blank_nm, fall_nm, plumb_depth_nm, slope_nm
from service.domain.layout.system import RailingSystem
from service.domain.lengths import split_evenly


def build_section(frame: Frame, placing: Placing) -> Section:
    """Cut a span's rails for its joints and set its pickets and support legs."""
    system, span, division = frame.system, placing.span, placing.span.division
    length_nm = division.end_nm - division.start_nm
    if span.rake is None:
        rails = _level_rails(placing, length_nm, system)
    else:
        rails = _raked_rails(placing, span.rake, length_nm, system)
    frame.openings.extend(_openings(placing.name, span, system))
    return Section(
        name=placing.name,
        run=span.run,
        start=placing.start,
        end=placing.end,
        line_posts=span.line_posts,
        line_posts_nm=division.line_posts_nm,
        carries=placing.carries,
        length_nm=length_nm,
        clear_nm=length_nm - sum(span.picket_faces_nm),
        rails=rails,
        pickets=PicketRow(
            centres_nm=division.pickets_nm,
            removed_nm=division.removed_nm,
            width_nm=system.pickets.width_nm,
            length_nm=_picket_length(system, span.rake),
            pitch_nm=division.pitch_nm,
            end_gaps_nm=division.end_gaps_nm,
            centred_on=division.centred_on,
        ),
        support_legs_nm=() if span.rake else _support_legs(span, length_nm, system),
        rake=span.rake,
    )


def _picket_length(system: RailingSystem, rake: Rake | None) -> int:
    """Give the clear height between the rails, plus what a picket enters each of them."""
    top, bottom = system.top_rail.depth_nm, system.bottom_rail.depth_nm
    if rake is None:
        height = system.guard_height_nm - system.bottom_gap_nm - top - bottom
    else:
        height = system.stair_guard_height_nm - system.stair_bottom_gap_nm
        height -= plumb_depth_nm(rake, top) + plumb_depth_nm(rake, bottom)
    return height + 2 * system.pickets.enters_nm


def _level_rails(placing: Placing, length_nm: int, system: RailingSystem) -> tuple[Rail, ...]:
    """Cut the top rail whole and the bottom rail either side of each line post."""
    span, division = placing.span, placing.span.division
    start_nm = span.rail_faces_nm[0] - system.allowance_nm(placing.start.joint)
    end_nm = length_nm - span.rail_faces_nm[1] + system.allowance_nm(placing.end.joint)
    places = sorted((*division.pickets_nm, *division.removed_nm))
    rails = [_level_rail(f"{placing.name} top", "top", start_nm, end_nm, places)]
    cut = system.line_post_cut_nm
    starts = [start_nm, *(post + cut for post in division.line_posts_nm)]
    ends = [*(post - cut for post in division.line_posts_nm), end_nm]
    for number, (a, b) in enumerate(zip(starts, ends, strict=True), 1):
        inside = [x for x in division.pickets_nm if a < x < b]
        suffix = f" {number}" if len(starts) > 1 else ""
        rails.append(_level_rail(f"{placing.name} bottom{suffix}", "bottom", a, b, inside))
    return tuple(rails)


def _level_rail(name: str, place: str, start_nm: int, end_nm: int, pickets: list[int]) -> Rail:
    return Rail(
        name=name,
        place=place,
        start_nm=start_nm,
        length_nm=end_nm - start_nm,
        saw_deg=0.0,
        pickets=len(pickets),
        first_picket_nm=pickets[0] - start_nm if pickets else None,
        pitch_nm=pickets[1] - pickets[0] if len(pickets) > 1 else None,
    )


def _raked_rails(
    placing: Placing, rake: Rake, length_nm: int, system: RailingSystem
) -> tuple[Rail, ...]:
    """Cut both raked rails with plumb ends.

    The upper end's long point is on the rail's top edge, the lower end's on its bottom edge.
    Measured along the slope from the upper long point, a plumb picket that stands a behind the
    upper cut crosses the rail's top edge at a / cos(rake) and its bottom edge depth x tan(rake)
    further. Pickets meet the top rail at its bottom edge and the bottom rail at its top edge.
    """
    span, division = placing.span, placing.span.division
    start_nm = span.rail_faces_nm[0] - system.allowance_nm(placing.start.joint)
    end_nm = length_nm - span.rail_faces_nm[1] + system.allowance_nm(placing.end.joint)
    first = slope_nm(rake, division.pickets_nm[0] - start_nm)
    many = len(division.pickets_nm) > 1
    pitch = system.pickets.stair_pitch_nm or slope_nm(rake, division.pitch_nm)
    rails = []
    for place, profile in (("top", system.top_rail), ("bottom", system.bottom_rail)):
        further = fall_nm(rake, profile.depth_nm) if place == "top" else 0
        rails.append(
            Rail(
                name=f"{placing.name} {place}",
                place=place,
                start_nm=start_nm,
                length_nm=blank_nm(rake, end_nm - start_nm, profile.depth_nm),
                saw_deg=rake.angle_deg,
                pickets=len(division.pickets_nm),
                first_picket_nm=first + further,
                pitch_nm=pitch if many else None,
            )
        )
    return tuple(rails)


def _support_legs(span: Span, length_nm: int, system: RailingSystem) -> tuple[int, ...]:
    """Set legs evenly under the bottom rail wherever a bay passes the unsupported length."""
    half = system.post_width_nm // 2
    posts = (0, *span.division.line_posts_nm, length_nm)
    legs: list[int] = []
    for a, b in pairwise(posts):
        left = a + (span.picket_faces_nm[0] if a == 0 else half)
        right = b - (span.picket_faces_nm[1] if b == length_nm else half)
        parts = -(-(right - left) // system.max_unsupported_nm)
        place = left
        for part in split_evenly(right - left, parts)[:-1]:
            place += part
            legs.append(place)
    return tuple(legs)


def _openings(name: str, span: Span, system: RailingSystem) -> list[ClearOpening]:
    division = span.division
    length_nm = division.end_nm - division.start_nm
    half_picket, half_post = system.pickets.width_nm // 2, system.post_width_nm // 2
    obstacles = [
        (0, span.picket_faces_nm[0], True),
        *((x - half_post, x + half_post, True) for x in division.line_posts_nm),
        *(
            (x - half_picket, x - half_picket + system.pickets.width_nm, False)
            for x in division.pickets_nm
        ),
        (length_nm - span.picket_faces_nm[1], length_nm, True),
    ]
    found = clear_openings(name, sorted(obstacles), on_stair=span.rake is not None)
    if span.rake is None:
        gap = system.bottom_gap_nm
        found.append(ClearOpening(name, "under the bottom rail", gap, on_stair=False))
    return found

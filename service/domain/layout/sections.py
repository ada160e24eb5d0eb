"""Sections with their rails cut to length: what each rail enters, where each picket falls."""

from service.domain.errors import UnbuildableLayout
from service.domain.layout.clearances import EndGap, end_gaps, sleeve_notes
from service.domain.layout.deck import Conditions
from service.domain.layout.frame import Frame, Span, clear_openings
from service.domain.layout.infill import fill_section
from service.domain.layout.infill_rows import rail_gap_nm
from service.domain.layout.member_checks import refuse_unbuildable
from service.domain.layout.records import (
    NO_PICKETS,
    ClearOpening,
    PicketRow,
    Rail,
    RailEnd,
    Rake,
    Section,
)
from service.domain.layout.sequence import Placing
from service.domain.layout.stairs import blank_nm, fall_nm, slope_nm
from service.domain.layout.support_legs import Legs, legs_of
from service.domain.layout.system import Glass, RailingSystem


def build_section(frame: Frame, placing: Placing, conditions: Conditions | None = None) -> Section:
    """Cut a span's rails for its joints and set its infill and support legs."""
    system, span, division = frame.system, placing.span, placing.span.division
    length_nm = division.end_nm - division.start_nm
    gaps = _end_gaps(frame, placing, length_nm, conditions)
    reach_nm = _reach(placing, length_nm, gaps)
    if span.rake is None:
        rails = _level_rails(placing, reach_nm, system)
    else:
        rails = _raked_rails(placing, span.rake, reach_nm, system)
    try:
        infill, openings = fill_section(placing.name, span, reach_nm, system)
    except UnbuildableLayout as refusal:
        refusal.element = refusal.element or placing.name
        raise
    frame.openings.extend([*openings, *_openings(placing.name, span, system)])
    legs = legs_of(placing.name, span, system) if _has_bottom_rail(system) else Legs()
    frame.notes.extend([legs.note] if legs.note else [])
    section = Section(
        name=placing.name,
        run=span.run,
        start=_with_gap(placing.start, gaps[0]),
        end=_with_gap(placing.end, gaps[1]),
        line_posts=span.line_posts,
        line_posts_nm=division.line_posts_nm,
        carries=placing.carries,
        length_nm=length_nm,
        clear_nm=length_nm - sum(span.picket_faces_nm),
        rails=rails,
        pickets=_picket_row(span, system) if infill is None else NO_PICKETS,
        support_legs_nm=legs.places_nm,
        support_leg_heights_nm=legs.heights_nm,
        rake=span.rake,
        infill=infill,
    )
    refuse_unbuildable(section, reach_nm, system)
    return section


def _picket_row(span: Span, system: RailingSystem) -> PicketRow:
    division = span.division
    return PicketRow(
        centres_nm=division.pickets_nm,
        removed_nm=division.removed_nm,
        width_nm=system.pickets.width_nm,
        length_nm=rail_gap_nm(system, span.rake) + 2 * system.pickets.enters_nm,
        pitch_nm=division.pitch_nm,
        end_gaps_nm=division.end_gaps_nm,
        centred_on=division.centred_on,
    )


def _end_gaps(
    frame: Frame, placing: Placing, length_nm: int, conditions: Conditions | None
) -> tuple[EndGap, EndGap]:
    """Give the gaps at both ends of a section, and note joints that cannot follow the heat."""
    start, end = placing.start, placing.end
    faces_nm = length_nm - sum(placing.span.rail_faces_nm)
    gaps = end_gaps((start.joint, end.joint), faces_nm, frame.system, conditions)
    if conditions is not None:
        ends = (start.post, start.joint, gaps[0]), (end.post, end.joint, gaps[1])
        frame.notes.extend(sleeve_notes(placing.name, ends, frame.system))
    return gaps


def _with_gap(end: RailEnd, gap: EndGap) -> RailEnd:
    return RailEnd(end.post, end.joint, end.angle_deg, gap.gap_nm, gap.widest_nm, gap.hold_nm)


def _reach(placing: Placing, length_nm: int, gaps: tuple[EndGap, EndGap]) -> tuple[int, int]:
    """Say where rails start and end, horizontally from the start post's centre. [nm]"""
    faces = placing.span.rail_faces_nm
    return faces[0] - gaps[0].allowance_nm, length_nm - faces[1] + gaps[1].allowance_nm


def _has_bottom_rail(system: RailingSystem) -> bool:
    return not isinstance(system.infill, Glass) or system.infill.bottom_rail


def _level_rails(
    placing: Placing, reach_nm: tuple[int, int], system: RailingSystem
) -> tuple[Rail, ...]:
    """Cut the top rail whole and the bottom rail either side of each line post."""
    division, (start_nm, end_nm) = placing.span.division, reach_nm
    places = sorted((*division.pickets_nm, *division.removed_nm))
    rails = [_level_rail(f"{placing.name} top", "top", start_nm, end_nm, places)]
    if not _has_bottom_rail(system):
        return tuple(rails)
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
    placing: Placing, rake: Rake, reach_nm: tuple[int, int], system: RailingSystem
) -> tuple[Rail, ...]:
    """Cut both raked rails; their ends are plumb unless the system saws at an angle of its own.

    The upper end's long point is on the rail's top edge, the lower end's on its bottom edge.
    Measured along the slope from the upper long point, a plumb picket that stands a behind the
    upper cut crosses the rail's top edge at a / cos(rake) and its bottom edge depth x tan(rake)
    further. Pickets meet the top rail at its bottom edge and the bottom rail at its top edge.
    """
    division, (start_nm, end_nm) = placing.span.division, reach_nm
    places = division.pickets_nm
    saw_deg = rake.angle_deg if system.stair_saw_deg is None else system.stair_saw_deg
    many = len(places) > 1
    pitch = system.pickets.stair_pitch_nm or slope_nm(rake, division.pitch_nm)
    rails = []
    profiles = {"top": system.top_rail, "bottom": system.bottom_rail}
    if not _has_bottom_rail(system):
        del profiles["bottom"]
    for place, profile in profiles.items():
        further = fall_nm(rake, profile.depth_nm) if place == "top" else 0
        rails.append(
            Rail(
                name=f"{placing.name} {place}",
                place=place,
                start_nm=start_nm,
                length_nm=blank_nm(rake, end_nm - start_nm, profile.depth_nm, saw_deg),
                saw_deg=saw_deg,
                pickets=len(places),
                first_picket_nm=slope_nm(rake, places[0] - start_nm) + further if places else None,
                pitch_nm=pitch if many else None,
            )
        )
    return tuple(rails)


def _openings(name: str, span: Span, system: RailingSystem) -> list[ClearOpening]:
    found = [] if system.infill else _between_uprights(name, span, system)
    if span.rake is None and _has_bottom_rail(system):
        gap = system.bottom_gap_nm
        found.append(ClearOpening(name, "under the bottom rail", gap, on_stair=False))
    return found


def _between_uprights(name: str, span: Span, system: RailingSystem) -> list[ClearOpening]:
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
    return clear_openings(name, sorted(obstacles), on_stair=span.rake is not None)

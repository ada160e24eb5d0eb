"""One section of a run: where its line posts and its pickets fall between its two end posts."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.infill_glass import fit_bay, panel_height_nm, widest_nm
from service.domain.layout.line_posts import Bays, Placement, even_placements, nearest_placement
from service.domain.layout.pickets import Spacing, fixed_pitch, free_pitch
from service.domain.layout.system import Glass, RailingSystem
from service.domain.lengths import mm_of
from service.domain.record import record

PostCost = Callable[[int], int]


@record(frozen=True, slots=True)
class Division:
    """One section of a run. Positions are from the centre of the section's start post. [nm]

    Attributes:
        start_nm, end_nm: Its start and end post centres, from the run's start. [nm]
        line_posts_nm: Centres of the line posts inside it.
        pickets_nm: Picket centres, line posts' places left out.
        removed_nm: Grid places that line posts take.
        end_gaps_nm: Clear gap at its start and end post. [nm]
        symmetric: Whether its line posts mirror about its middle.
    """

    start_nm: int
    end_nm: int
    line_posts_nm: tuple[int, ...]
    pickets_nm: tuple[int, ...]
    removed_nm: tuple[int, ...]
    end_gaps_nm: tuple[int, int]
    pitch_nm: int
    centred_on: str
    symmetric: bool = True


def divide_section(
    start: int,
    end: int,
    faces: tuple[int, int],
    marks: tuple[int, ...],
    system: RailingSystem,
    cost: PostCost | None = None,
) -> Iterator[Division]:
    """Give the ways to set a section's line posts and pickets, the best first.

    Args:
        start, end: Its end post centres, from the run's start. [nm]
        faces: From those centres to the posts' faces along the run. [nm]
        marks: Post centres wished for, its ends included. [nm]
        system: Gives pickets or other infill, span and post width.
        cost: Price of a post at a place of the run, or None; see ``line_posts``.
    """
    if system.infill is not None:
        division = _open_section(start, end, faces, marks, system)
    elif system.pickets.pitch_nm is None:
        division = _free_section(start, end, faces, marks, system)
    else:
        yield from _fixed_sections(start, end, faces, len(marks) - 1, system, cost)
        return
    if division is not None:
        yield division


def mirrored(divisions: tuple[Division, ...], length_nm: int) -> tuple[Division, ...]:
    """Give the sections of a run as seen from its other end. [nm]"""
    return tuple(_mirrored(division, length_nm) for division in reversed(divisions))


def _mirrored(division: Division, length_nm: int) -> Division:
    own_nm = division.end_nm - division.start_nm

    def flip(places: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(own_nm - place for place in reversed(places))

    return replace(
        division,
        start_nm=length_nm - division.end_nm,
        end_nm=length_nm - division.start_nm,
        line_posts_nm=flip(division.line_posts_nm),
        pickets_nm=flip(division.pickets_nm),
        removed_nm=flip(division.removed_nm),
        end_gaps_nm=(division.end_gaps_nm[1], division.end_gaps_nm[0]),
    )


def _fixed_sections(
    start: int,
    end: int,
    faces: tuple[int, int],
    bays: int,
    system: RailingSystem,
    cost: PostCost | None,
) -> Iterator[Division]:
    pickets, length, half = system.pickets, end - start, system.post_width_nm // 2
    limits = Bays(system.max_span_nm, (faces[0] + half, 2 * half, half + faces[1]))
    row = fixed_pitch(length - sum(faces), pickets.width_nm, _pitch(system), pickets.centred_on)
    centres = tuple(faces[0] + centre for centre in row.centres_nm)
    placements: list[Placement] = []
    if cost is not None:
        nearest = nearest_placement(centres, length, bays, limits, lambda x: cost(start + x))
        placements = [nearest] if nearest else []
    even = even_placements(centres, length, bays, row.pitch_nm, limits)
    for placement in (*placements, *even):
        if bays > 1:
            _refuse_wide_post(row, system)
        taken = set(placement.places)
        posts = tuple(centres[i] for i in placement.places)
        yield Division(
            start_nm=start,
            end_nm=end,
            line_posts_nm=posts,
            pickets_nm=tuple(c for i, c in enumerate(centres) if i not in taken),
            removed_nm=posts,
            end_gaps_nm=row.end_gaps_nm,
            pitch_nm=row.pitch_nm,
            centred_on=row.centred_on,
            symmetric=placement.symmetric,
        )


def _pitch(system: RailingSystem) -> int:
    return system.pickets.pitch_nm or 0


def _refuse_wide_post(row: Spacing, system: RailingSystem) -> None:
    if 2 * row.pitch_nm < system.post_width_nm + system.pickets.width_nm:
        raise UnbuildableLayout(
            f"a line post {mm_of(system.post_width_nm):.1f} mm wide cannot take the place of one "
            f"picket at a pitch of {mm_of(row.pitch_nm):.1f} mm",
            where=("system", "pickets", "pitch"),
            advice="Use a wider pitch, or the method between_posts.",
        )


def _free_section(
    start: int, end: int, faces: tuple[int, int], marks: tuple[int, ...], system: RailingSystem
) -> Division | None:
    """Space pickets evenly in each bay of a section; line posts take no picket's place."""
    half = system.post_width_nm // 2
    if max(b - a for a, b in pairwise(marks)) > system.max_span_nm:
        return None
    centres: list[int] = []
    rows: list[Spacing] = []
    for left, right in pairwise(marks):
        face = faces[0] if left == start else half
        other = faces[1] if right == end else half
        row = free_pitch(
            right - left - face - other, system.pickets.width_nm, system.pickets.max_gap_nm
        )
        rows.append(row)
        centres.extend(left - start + face + centre for centre in row.centres_nm)
    return Division(
        start_nm=start,
        end_nm=end,
        line_posts_nm=tuple(mark - start for mark in marks[1:-1]),
        pickets_nm=tuple(centres),
        removed_nm=(),
        end_gaps_nm=(rows[0].end_gaps_nm[0], rows[-1].end_gaps_nm[1]),
        pitch_nm=rows[0].pitch_nm,
        centred_on="picket" if len(centres) % 2 else "gap",
    )


def _open_section(
    start: int, end: int, faces: tuple[int, int], marks: tuple[int, ...], system: RailingSystem
) -> Division | None:
    """Set a section's posts where no pickets are; None if a bay is too long or glass cannot fit."""
    if max(b - a for a, b in pairwise(marks)) > system.max_span_nm:
        return None
    glass, half = system.infill, system.post_width_nm // 2
    if isinstance(glass, Glass):
        widest = widest_nm(panel_height_nm(system, glass, None), glass)
        ends = (faces[0], *(half,) * (len(marks) - 2), faces[1])
        for (a, b), (left, right) in zip(pairwise(marks), pairwise(ends), strict=True):
            if fit_bay(b - a - left - right, widest, glass, raked=False) is None:
                return None
    return open_division(start, end, tuple(mark - start for mark in marks[1:-1]))


def open_division(start_nm: int, end_nm: int, line_posts_nm: tuple[int, ...]) -> Division:
    """Give a section without pickets. [nm]"""
    return Division(
        start_nm=start_nm,
        end_nm=end_nm,
        line_posts_nm=line_posts_nm,
        pickets_nm=(),
        removed_nm=(),
        end_gaps_nm=(0, 0),
        pitch_nm=0,
        centred_on="gap",
    )

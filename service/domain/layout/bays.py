"""How a run is divided: sections between joins, bays within sections, line posts on the grid.

Fewest posts within the span limit come first; then a mirror-symmetric choice where the count
allows one; then the most even bays.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate, pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.evenly import spread
from service.domain.layout.infill_glass import (
    fit_bay,
    no_panels,
    panel_height_nm,
    stock_marks,
    widest_nm,
)
from service.domain.layout.pickets import Spacing, fixed_pitch, free_pitch
from service.domain.layout.system import Glass, Method, RailingSystem
from service.domain.lengths import mm_of, split_evenly

# Places either side of the ideal that are tried for the first and the last line post of a section.
REACH = 3
# No run is divided into more bays than this; the request bounds keep real decks far below.
MAX_BAYS = 10_000


@dataclass(frozen=True, slots=True)
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


def divide_run(
    length_nm: int, faces_nm: tuple[int, int], system: RailingSystem
) -> tuple[Division, ...]:
    """Divide a run into sections and bays.

    Args:
        length_nm: Centre to centre of the terminating posts. [nm]
        faces_nm: From the start and the end post's centre to its face along the run. [nm]
        system: Gives method, span and section limits, pickets and post width.

    Returns:
        Sections in order; their lengths add up to the run's.

    Raises:
        UnbuildableLayout: No division within the limits leaves room for the infill in every bay.
    """
    longest = min(system.max_span_nm, system.max_section_nm)
    least, glass = -(-length_nm // longest), system.infill
    most = least + length_nm // system.post_width_nm
    if isinstance(glass, Glass):
        most = length_nm // (system.post_width_nm + glass.min_width_nm) + 1
    for bays in range(least, min(most, MAX_BAYS) + 1):
        for marks in _marks(length_nm, faces_nm, bays, system):
            division = _with_bays(length_nm, faces_nm, marks, system)
            if division is not None:
                return division
    if isinstance(glass, Glass):
        raise no_panels(length_nm - sum(faces_nm), glass)
    raise UnbuildableLayout(
        f"no division of a run of {mm_of(length_nm):.1f} mm keeps every bay within "
        f"{mm_of(longest):.1f} mm",
        where=("system", "limits", "span"),
        advice="Raise the span or section limit, or use a smaller picket pitch.",
    )


def _marks(
    length_nm: int, faces_nm: tuple[int, int], bays: int, system: RailingSystem
) -> Iterator[tuple[int, ...]]:
    """Give post centres to try: evenly apart, then as stock widths of glass ask for."""
    yield (0, *accumulate(split_evenly(length_nm, bays)))
    if isinstance(system.infill, Glass) and system.infill.stock:
        marks = stock_marks(length_nm, faces_nm, bays, system, system.infill)
        if marks is not None:
            yield marks


def _with_bays(
    length_nm: int, faces_nm: tuple[int, int], marks: tuple[int, ...], system: RailingSystem
) -> tuple[Division, ...] | None:
    half, bays = system.post_width_nm // 2, len(marks) - 1
    joins = [marks[i] for i in accumulate(_bays_per_section(length_nm, bays, system), initial=0)]
    divisions = []
    for start, end in pairwise(joins):
        faces = (faces_nm[0] if start == 0 else half, faces_nm[1] if end == length_nm else half)
        inside = marks[marks.index(start) : marks.index(end) + 1]
        division = _section(start, end, faces, inside, system)
        if division is None:
            return None
        divisions.append(division)
    return tuple(divisions)


def _bays_per_section(length_nm: int, bays: int, system: RailingSystem) -> tuple[int, ...]:
    if system.method is Method.BETWEEN_POSTS:
        return (1,) * bays
    most = max(1, system.max_section_nm * bays // length_nm)
    return spread(bays, -(-bays // most))


def _section(
    start: int, end: int, faces: tuple[int, int], marks: tuple[int, ...], system: RailingSystem
) -> Division | None:
    if system.infill is not None:
        return _open_section(start, end, faces, marks, system)
    if system.pickets.pitch_nm is None:
        return _free_section(start, end, faces, marks, system)
    clear = end - start - sum(faces)
    row = fixed_pitch(clear, system.pickets.width_nm, system.pickets.pitch_nm)
    centres = tuple(faces[0] + centre for centre in row.centres_nm)
    bays = len(marks) - 1
    chosen = _line_places(centres, end - start, bays, row.pitch_nm, system.max_span_nm)
    if chosen is None:
        return None
    places, symmetric = chosen
    if bays > 1:
        _refuse_wide_post(row, system)
    taken = set(places)
    return Division(
        start_nm=start,
        end_nm=end,
        line_posts_nm=tuple(centres[i] for i in places),
        pickets_nm=tuple(c for i, c in enumerate(centres) if i not in taken),
        removed_nm=tuple(centres[i] for i in places),
        end_gaps_nm=row.end_gaps_nm,
        pitch_nm=row.pitch_nm,
        centred_on=row.centred_on,
        symmetric=symmetric,
    )


def _refuse_wide_post(row: Spacing, system: RailingSystem) -> None:
    if 2 * row.pitch_nm < system.post_width_nm + system.pickets.width_nm:
        raise UnbuildableLayout(
            f"a line post {mm_of(system.post_width_nm):.1f} mm wide cannot take the place of one "
            f"picket at a pitch of {mm_of(row.pitch_nm):.1f} mm",
            where=("system", "pickets", "pitch"),
            advice="Use a wider pitch, or the method between_posts.",
        )


def _line_places(
    centres: tuple[int, ...], length: int, bays: int, pitch: int, span: int
) -> tuple[tuple[int, ...], bool] | None:
    """Choose grid places for the line posts of a section; None if none keeps to the span."""
    if bays == 1:
        return ((), True) if length <= span else None
    best: tuple[tuple[int, int, int], tuple[int, ...]] | None = None
    for gaps in _candidates(centres, length, bays, pitch):
        places = tuple(accumulate(gaps[:-1]))
        if places[0] < 0 or places[-1] > len(centres) - 1:
            continue
        points = (0, *(centres[i] for i in places), length)
        spans = [b - a for a, b in pairwise(points)]
        if max(spans) > span:
            continue
        lopsided = int(gaps != gaps[::-1])
        key = (lopsided, sum(s * s for s in spans), -gaps[0])
        if best is None or key < best[0]:
            best = key, places
    return None if best is None else (best[1], best[0][0] == 0)


def _candidates(
    centres: tuple[int, ...], length: int, bays: int, pitch: int
) -> Iterator[tuple[int, ...]]:
    """Give pitches in each bay: first picket to first post, post to post, last post to last."""
    last = len(centres) - 1
    ideal = length / bays
    first = round((ideal - centres[0]) / pitch)
    final = round((ideal - (length - centres[-1])) / pitch)
    for head in range(max(0, first - REACH), first + REACH + 1):
        if bays == 2:
            if last - head >= 0:
                yield head, last - head
            continue
        for tail in range(max(0, final - REACH), final + REACH + 1):
            between = last - head - tail
            if between >= bays - 2:
                yield head, *spread(between, bays - 2), tail


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

"""Cables: how many, at which heights, what holds them apart, and from which post to which.

A cable goes from one end post to the next, past the line posts between and, where the system
allows it, round corners. It ends where its tensioner pulls no further.
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby, pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.evenly import spread
from service.domain.layout.frame import Frame, Span
from service.domain.layout.infill_records import CableRow, CableRun
from service.domain.layout.infill_rows import rail_gap_nm, row_openings, stack
from service.domain.layout.records import ClearOpening, Rake, Step
from service.domain.layout.stairs import slope_nm
from service.domain.layout.system import Cables, RailingSystem
from service.domain.lengths import mm_of, split_evenly
from service.domain.record import record

WHERE = ("system", "cables")


def cable_row(
    section: str,
    posts_nm: tuple[int, ...],
    rake: Rake | None,
    system: RailingSystem,
    cables: Cables,
) -> tuple[CableRow, list[ClearOpening]]:
    """Space the cables of a section, and the spreaders between its posts.

    The openings count what the cables give way.

    Args:
        section: Its name.
        posts_nm: Centres of all its posts from the start post's. [nm]
        rake: Slope of the stair, None on the level.
        system, cables: Heights and limits.
    """
    limit = cables.max_gap_nm - cables.deflection_nm
    rows = stack(system, rake, cables.diameter_nm, limit, WHERE)
    row = CableRow(
        heights_nm=rows.heights_nm,
        diameter_nm=cables.diameter_nm,
        gaps_nm=rows.gaps_nm,
        spreaders_nm=tuple(_spreaders(posts_nm, rake, cables.max_support_nm)),
        spreader_length_nm=rail_gap_nm(system, rake),
    )
    pushed = tuple(gap + cables.deflection_nm for gap in rows.gaps_nm)
    return row, row_openings(section, pushed, ("between cables", "cable to rail"), rake)


def _spreaders(posts_nm: tuple[int, ...], rake: Rake | None, support_nm: int) -> Iterator[int]:
    for left, right in pairwise(posts_nm):
        along = slope_nm(rake, right - left) if rake else right - left
        parts = split_evenly(right - left, -(-along // support_nm))
        yield from (left + at for at in accumulate(parts[:-1]))


@record(frozen=True, slots=True)
class _Bay:
    """Between two posts, as a cable passes it: centre to centre and to the faces, along it."""

    section: str
    run: str
    start: str
    end: str
    along_nm: int
    faces_nm: tuple[int, int]


def string_cables(
    frame: Frame, names: Sequence[tuple[Span, str]], cables: Cables
) -> tuple[CableRun, ...]:
    """Say from which post to which the cables go, as few lengths as can be tensioned.

    Args:
        frame: The job with its chains of spans.
        names: Each span with the name of its section.
        cables: Limits of length and corners.

    Raises:
        UnbuildableLayout: A run is longer than one tensioner pulls, and the system ends no cable
            at a line post.
    """
    named = {id(span): name for span, name in names}
    counts = {
        raked: len(stack(frame.system, rake, cables.diameter_nm, _limit(cables), WHERE).heights_nm)
        for raked, rake in _rakes(frame)
    }
    found: list[CableRun] = []
    stairs = [tuple(spans) for _, spans in groupby(frame.stair_spans, key=lambda span: span.run)]
    chains = [(chain.spans, chain.closed) for chain in frame.chains]
    for spans, closed in (*chains, *((spans, False) for spans in stairs)):
        bays = [bay for span in spans for bay in _bays(span, named[id(span)], frame.system)]
        rake = spans[0].rake
        for part in _parts(bays, cables, closed=closed):
            found.append(_cable_run(f"C{len(found) + 1}", part, counts[_key(rake)], cables, rake))
    return tuple(found)


def _limit(cables: Cables) -> int:
    return cables.max_gap_nm - cables.deflection_nm


def _key(rake: Rake | None) -> tuple[int, int] | None:
    return (rake.rise_nm, rake.run_nm) if rake else None


def _rakes(frame: Frame) -> Iterator[tuple[tuple[int, int] | None, Rake | None]]:
    if frame.chains:
        yield None, None
    yield from {_key(span.rake): span.rake for span in frame.stair_spans}.items()


def _bays(span: Span, section: str, system: RailingSystem) -> Iterator[_Bay]:
    division, half = span.division, system.post_width_nm // 2
    names = (span.start, *span.line_posts, span.end)
    centres = (0, *division.line_posts_nm, division.end_nm - division.start_nm)
    last = len(names) - 2
    for i, ((start, end), (a, b)) in enumerate(
        zip(pairwise(names), pairwise(centres), strict=True)
    ):
        faces = (
            span.picket_faces_nm[0] if i == 0 else half,
            span.picket_faces_nm[1] if i == last else half,
        )
        along = b - a
        if span.rake:
            along = slope_nm(span.rake, along)
            faces = (slope_nm(span.rake, faces[0]), slope_nm(span.rake, faces[1]))
        yield _Bay(section, span.run, start, end, along, faces)


def _parts(bays: list[_Bay], cables: Cables, *, closed: bool) -> Iterator[list[_Bay]]:
    """Cut a chain at corners into as few cables as can be, as even as can be.

    A chain that closes on itself may start at any corner; a cable passes few of them, so one of
    the first few starts is among the best. A run too long by itself is then cut at its line posts.
    """
    runs = [list(group) for _, group in groupby(bays, key=lambda bay: bay.run)]
    starts = range(min(len(runs), cables.max_corners + 1)) if closed else (0,)
    ways = (_cuts([*runs[start:], *runs[:start]], cables) for start in starts)
    _, runs, cuts = min(ways, key=lambda way: way[0])
    for start, end in pairwise(cuts):
        yield from _within([bay for run in runs[start:end] for bay in run], cables)


def _cuts(
    runs: list[list[_Bay]], cables: Cables
) -> tuple[tuple[int, int], list[list[_Bay]], list[int]]:
    """Give cables and the sum of their squares, the runs, and the runs each cable starts at."""
    reach = (0, *accumulate(sum(bay.along_nm for bay in run) for run in runs))
    best = [(0, 0, 0)]  # cables, sum of their squared lengths, first run of the last cable
    for end in range(1, len(runs) + 1):
        options = []
        for start in range(max(0, end - 1 - cables.max_corners), end):
            faces = runs[start][0].faces_nm[0] + runs[end - 1][-1].faces_nm[1]
            pulled = reach[end] - reach[start] - faces
            if pulled <= cables.max_length_nm or start == end - 1:
                pieces = max(1, -(-pulled // cables.max_length_nm))
                before = best[start]
                options.append((before[0] + pieces, before[1] + pulled * pulled, start))
        best.append(min(options))
    cuts = [len(runs)]
    while cuts[-1]:
        cuts.append(best[cuts[-1]][2])
    return best[-1][:2], runs, cuts[::-1]


def _within(run: list[_Bay], cables: Cables) -> Iterator[list[_Bay]]:
    """Divide a run at line posts, evenly, into lengths that can be tensioned, if it is too long."""
    pulled, longest = _pulled_nm(run), cables.max_length_nm
    if pulled <= longest:
        yield run
        return
    least_nm = max(bay.along_nm - sum(bay.faces_nm) for bay in run)
    if not cables.ends_at_line_posts or least_nm > longest:
        needed = pulled if not cables.ends_at_line_posts else least_nm
        raise UnbuildableLayout(
            f"{run[0].run}: a cable from {run[0].start} to {run[-1].end} would be "
            f"{mm_of(pulled):.1f} mm between their faces; one tensioner pulls "
            f"{mm_of(longest):.1f} mm",
            element=run[0].run,
            where=(*WHERE, "max_length"),
            advice=f"Take a tensioner for {mm_of(needed):.0f} mm, or let cables end at line posts.",
        )
    for count in range(-(-pulled // longest), len(run) + 1):
        marks = (0, *accumulate(spread(len(run), count)))
        parts = [run[a:b] for a, b in pairwise(marks)]
        if all(_pulled_nm(part) <= longest for part in parts):
            yield from parts
            return


def _pulled_nm(bays: list[_Bay]) -> int:
    return sum(bay.along_nm for bay in bays) - bays[0].faces_nm[0] - bays[-1].faces_nm[1]


def _cable_run(
    name: str, bays: list[_Bay], count: int, cables: Cables, rake: Rake | None
) -> CableRun:
    return CableRun(
        name=name,
        start=bays[0].start,
        end=bays[-1].end,
        passes=tuple(bay.end for bay in bays[:-1]),
        corners=len({bay.run for bay in bays}) - 1,
        sections=tuple(dict.fromkeys(bay.section for bay in bays)),
        count=count,
        length_nm=_pulled_nm(bays) + 2 * cables.end_allowance_nm,
        raked=rake is not None,
    )


def cable_steps(runs: tuple[CableRun, ...], done: int) -> tuple[Step, ...]:
    """Give the last steps of the installation: cables are strung once every section stands.

    Args:
        runs: The cables.
        done: Number of the last step before.
    """
    steps = []
    for number, run in enumerate(runs, done + 1):
        past = f" past {', '.join(run.passes)}" if run.passes else ""
        cables = "1 cable" if run.count == 1 else f"{run.count} cables"
        text = (
            f"String {cables} {run.name} from {run.start} to {run.end}{past}; tension from the "
            "middle one outwards."
        )
        steps.append(Step(number, run.name, text, tuple(dict.fromkeys((run.start, run.end))), ()))
    return tuple(steps)

"""What fills a section instead of pickets: one way in for cables, glass and infill rails."""

from service.domain.layout.frame import Span
from service.domain.layout.infill_cables import cable_row
from service.domain.layout.infill_glass import panel_row
from service.domain.layout.infill_rails import rail_row
from service.domain.layout.infill_records import CableRow
from service.domain.layout.records import ClearOpening, Infill, RailRow, Section
from service.domain.layout.system import Cables, Glass, InfillRails, RailingSystem
from service.domain.lengths import mm_of


def fill_section(
    name: str, span: Span, reach_nm: tuple[int, int], system: RailingSystem
) -> tuple[Infill | None, list[ClearOpening]]:
    """Fill a section with what its system names; pickets are set with the rails.

    Args:
        name: The section's name.
        span: Its posts and slope.
        reach_nm: Where its rails start and end from the start post's centre, horizontal. [nm]
        system: The railing system.

    Returns:
        The infill, and the widest openings it leaves.
    """
    infill, division = system.infill, span.division
    posts = (0, *division.line_posts_nm, division.end_nm - division.start_nm)
    if isinstance(infill, Cables):
        return cable_row(name, posts, span.rake, system, infill)
    if isinstance(infill, Glass):
        return panel_row(name, clear_bays(posts, span.picket_faces_nm, system), span.rake, system,
                         infill)  # fmt: skip
    if isinstance(infill, InfillRails):
        line_posts = division.line_posts_nm
        return rail_row(name, reach_nm, line_posts, span.rake, system, infill)
    return None, []


def clear_bays(
    posts_nm: tuple[int, ...], faces_nm: tuple[int, int], system: RailingSystem
) -> tuple[tuple[int, int], ...]:
    """Give the faces of the posts either side of each bay. [nm]"""
    half = system.post_width_nm // 2
    rights = (faces_nm[0], *(post + half for post in posts_nm[1:-1]))
    lefts = (*(post - half for post in posts_nm[1:-1]), posts_nm[-1] - faces_nm[1])
    return tuple(zip(rights, lefts, strict=True))


def climbing_note(sections: tuple[Section, ...]) -> tuple[str, ...]:
    """Say between which heights level infill can be climbed; some codes forbid a band of it."""
    rows = [s.infill for s in sections if isinstance(s.infill, CableRow | RailRow) and not s.rake]
    if not rows:
        return ()
    what = "Cables" if isinstance(rows[0], CableRow) else "Infill rails"
    low, high = rows[0].heights_nm[0], rows[0].heights_nm[-1]
    return (
        f"{what} from {mm_of(low):.0f} mm to {mm_of(high):.0f} mm above the walking surface can "
        "be climbed; some codes forbid footholds within a band of heights: check the code in "
        "force.",
    )

"""Rails as infill: parallel to the top rail, cut between posts or run past line posts."""

from service.domain.layout.infill_rows import row_openings, stack
from service.domain.layout.records import ClearOpening, Rail, RailRow, Rake
from service.domain.layout.stairs import blank_nm
from service.domain.layout.system import InfillRails, RailingSystem

WHERE = ("system", "rails")


def rail_row(
    section: str,
    reach_nm: tuple[int, int],
    line_posts_nm: tuple[int, ...],
    rake: Rake | None,
    system: RailingSystem,
    infill: InfillRails,
) -> tuple[RailRow, list[ClearOpening]]:
    """Stack the infill rails of a section and cut them to its joints.

    Args:
        section: Its name.
        reach_nm: Where rails start and end, with what enters the posts, horizontal from the
            start post's centre. [nm]
        line_posts_nm: Centres of the line posts inside it. [nm]
        rake: Slope of the stair, None on the level.
        system: Gives heights, limits and the cut at line posts.
        infill: The rails' data.

    Returns:
        The rails, and the widest openings between them.
    """
    rows = stack(system, rake, infill.depth_nm, infill.max_gap_nm, WHERE)
    cut = system.line_post_cut_nm
    posts = () if infill.past_line_posts else line_posts_nm
    starts = (reach_nm[0], *(post + cut for post in posts))
    ends = (*(post - cut for post in posts), reach_nm[1])
    rails = tuple(
        _rail(section, level, piece if posts else 0, a, b, rake, infill.depth_nm)
        for level in range(1, len(rows.heights_nm) + 1)
        for piece, (a, b) in enumerate(zip(starts, ends, strict=True), 1)
    )
    names = ("between infill rails", "infill rail to rail")
    row = RailRow(rails, rows.heights_nm, infill.depth_nm, rows.gaps_nm)
    return row, row_openings(section, rows.gaps_nm, names, rake)


def _rail(
    section: str, level: int, piece: int, a_nm: int, b_nm: int, rake: Rake | None, depth_nm: int
) -> Rail:
    name = f"{section} infill {level}"
    return Rail(
        name=f"{name} {piece}" if piece else name,
        place="infill",
        start_nm=a_nm,
        length_nm=blank_nm(rake, b_nm - a_nm, depth_nm) if rake else b_nm - a_nm,
        saw_deg=rake.angle_deg if rake else 0.0,
        pickets=0,
        first_picket_nm=None,
        pitch_nm=None,
    )

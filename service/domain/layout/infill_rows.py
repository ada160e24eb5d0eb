"""Members stacked between the rails, cables or rails: how many, at which heights, with what gaps.

On a stair they run parallel to the rake. What passes between two of them is judged square to
them: a plumb distance v leaves v cos(rake).
"""

from functools import lru_cache

from service.domain.errors import UnbuildableLayout, Where
from service.domain.layout.pickets import free_pitch
from service.domain.layout.records import ClearOpening, Rake
from service.domain.layout.stairs import level_nm, plumb_depth_nm, slope_nm
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of
from service.domain.record import record


@record(frozen=True, slots=True)
class Stack:
    """Members between the rails.

    Attributes:
        heights_nm: Centre of each above the walking surface, or plumb above the nosing line.
        gaps_nm: (n + 1,) clear gaps from the bottom rail up, square to the members. [nm]
    """

    heights_nm: tuple[int, ...]
    gaps_nm: tuple[int, ...]


def rail_gap_nm(system: RailingSystem, rake: Rake | None) -> int:
    """Give the clear height between bottom and top rail, plumb. [nm]"""
    top, bottom = system.top_rail.depth_nm, system.bottom_rail.depth_nm
    if rake is None:
        return system.guard_height_nm - system.bottom_gap_nm - top - bottom
    height = system.stair_guard_height_nm - system.stair_bottom_gap_nm
    return height - plumb_depth_nm(rake, top) - plumb_depth_nm(rake, bottom)


def above_bottom_rail_nm(system: RailingSystem, rake: Rake | None) -> int:
    """Give the height of the bottom rail's upper edge, plumb. [nm]"""
    if rake is None:
        return system.bottom_gap_nm + system.bottom_rail.depth_nm
    return system.stair_bottom_gap_nm + plumb_depth_nm(rake, system.bottom_rail.depth_nm)


def stack(
    system: RailingSystem, rake: Rake | None, depth_nm: int, limit_nm: int, where: Where
) -> Stack:
    """Stack as few members as leave equal gaps strictly below a limit.

    Args:
        system: Gives the rails and their heights.
        rake: Slope of the stair, None on the level.
        depth_nm: Size of a member, square to it. [nm]
        limit_nm: Every gap stays strictly below this, square to the members. [nm]
        where: Place of the infill in the request.

    Raises:
        UnbuildableLayout: The rails leave no room for a member.
    """
    plumb_nm = rail_gap_nm(system, rake)
    clear_nm = plumb_nm if rake is None else level_nm(rake, plumb_nm)
    if clear_nm <= depth_nm or limit_nm <= 0:
        raise UnbuildableLayout(
            f"the rails stand {mm_of(max(clear_nm, 0)):.1f} mm apart, square to them; infill of "
            f"{mm_of(depth_nm):.1f} mm under gaps of {mm_of(limit_nm):.1f} mm has no room",
            where=where,
            advice="Raise the guard height, lower the bottom gap, or take lower rails.",
        )
    return _stacked(rake, clear_nm, above_bottom_rail_nm(system, rake), depth_nm, limit_nm)


@lru_cache(maxsize=64)
def _stacked(rake: Rake | None, clear_nm: int, base_nm: int, depth_nm: int, limit_nm: int) -> Stack:
    """Stack members in a clear height; all sections of a deck on one slope ask for the same."""
    row = free_pitch(clear_nm, depth_nm, limit_nm)
    low = (0, *(centre + depth_nm - depth_nm // 2 for centre in row.centres_nm))
    high = (*(centre - depth_nm // 2 for centre in row.centres_nm), clear_nm)
    gaps = tuple(top - bottom for bottom, top in zip(low, high, strict=True))
    plumb = row.centres_nm if rake is None else tuple(slope_nm(rake, c) for c in row.centres_nm)
    return Stack(tuple(base_nm + centre for centre in plumb), gaps)


def row_openings(
    section: str, gaps_nm: tuple[int, ...], names: tuple[str, str], rake: Rake | None
) -> list[ClearOpening]:
    """Give the widest gap between two members, and the widest beside a rail.

    Args:
        section: Name of the section.
        gaps_nm: From the bottom rail up. [nm]
        names: What the two kinds of place are called.
        rake: Slope of the stair, None on the level.
    """
    on_stair = rake is not None
    beside = ClearOpening(section, names[1], max(gaps_nm[0], gaps_nm[-1]), on_stair)
    if len(gaps_nm) == 2:
        return [beside]
    return [ClearOpening(section, names[0], max(gaps_nm[1:-1]), on_stair), beside]

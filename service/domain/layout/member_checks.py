"""Refusals of sections whose own members leave nothing to build, before anything is ordered.

A system's dimensions are right one by one and still may not go together: rails higher than the
guard, gaps at the joints longer than the rail, a cut of the bottom rail as wide as a bay.
"""

from service.domain.errors import UnbuildableLayout
from service.domain.layout.infill_rows import rail_gap_nm
from service.domain.layout.records import Section
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of


def refuse_unbuildable(section: Section, reach_nm: tuple[int, int], system: RailingSystem) -> None:
    """Refuse a section with a rail of no length, or with pickets that both rails do not hold.

    Args:
        section: As it was cut.
        reach_nm: Where its rails start and end, horizontally from the start post's centre. [nm]
        system: Whose dimensions made it so.

    Raises:
        UnbuildableLayout: A rail has no length, the rails leave no height between them or end
            short of a picket, or a picket has no bottom rail under it.
    """
    _refuse_short_rails(section)
    if not section.pickets.centres_nm:
        return
    height_nm = rail_gap_nm(system, section.rake)
    if height_nm <= 0:
        guard = "guard_height" if section.rake is None else "stair_guard_height"
        raise UnbuildableLayout(
            f"the rails of {section.name} leave {mm_of(height_nm):.1f} mm of height for pickets",
            element=section.name,
            where=("system", guard),
            advice="Raise the guard height, lower the bottom gap, or take lower rails.",
        )
    centres = section.pickets.centres_nm
    if not reach_nm[0] < centres[0] <= centres[-1] < reach_nm[1]:
        raise UnbuildableLayout(
            f"the rails of {section.name} end short of its outer pickets: they lie "
            f"{mm_of(reach_nm[0]):.1f} mm from the centre of {section.start.post} to "
            f"{mm_of(section.length_nm - reach_nm[1]):.1f} mm from that of {section.end.post}",
            element=section.name,
            where=("system", "joints"),
            advice="Lessen the clearances of the joints.",
        )
    held = sum(rail.pickets for rail in section.rails if rail.place == "bottom")
    loose = len(centres) - held
    if loose:
        raise UnbuildableLayout(
            f"{loose} pickets of {section.name} have no bottom rail: it is cut "
            f"{mm_of(system.line_post_cut_nm):.1f} mm either side of each line post",
            element=section.name,
            where=("system", "line_post_cut"),
            advice="Cut it back less, so that it reaches past the pickets beside the post.",
        )


def _refuse_short_rails(section: Section) -> None:
    for rail in section.rails:
        if rail.length_nm <= 0:
            raise UnbuildableLayout(
                f"rail {rail.name} would be {mm_of(rail.length_nm):.1f} mm long after the gaps at "
                "its joints and the cuts at line posts",
                element=section.name,
                where=("system", "joints"),
                advice="Lessen the clearances of the joints, or the cut at line posts.",
            )

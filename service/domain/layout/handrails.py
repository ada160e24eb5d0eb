"""Handrails on brackets: along a stair's wall, or inside its guard, from riser to riser.

Along a flight, x is the horizontal distance from the top nosing, down the stair positive. A
handrail runs from above the top riser to above the lowest one; extensions go on level at the top
and along the rake at the bottom, and its ends are returned to the wall or post where asked.

Source: from riser to riser as the International Residential Code requires of handrails
(R311.7.8.4, 2021); extensions as ADA Standards 505.10 describe them; bracket spacing is the
system's own.
"""

from service.domain.errors import UnbuildableLayout
from service.domain.layout.deck import Side, Stair
from service.domain.layout.stair_records import Handrail, HandrailMount, HandrailParts
from service.domain.layout.stairs import rake_of, slope_nm
from service.domain.lengths import mm_of, split_evenly


def handrails_of(stair: Stair, parts: HandrailParts, first: int) -> tuple[Handrail, ...]:
    """Lay out the handrails of one flight: on its walled sides, or where it asks for them.

    Args:
        stair: The flight.
        parts: The system's handrail.
        first: Number of its first handrail, for the name.

    Raises:
        UnbuildableLayout: Brackets cannot be set within the system's spacing.
    """
    sides = stair.handrails
    if sides is None:
        sides = frozenset(Side) - stair.open_sides
    return tuple(
        _handrail(stair, side, parts, f"H{first + number}")
        for number, side in enumerate(sorted(sides))
    )


def _handrail(stair: Stair, side: Side, parts: HandrailParts, name: str) -> Handrail:
    rake = rake_of(stair)
    start_nm = -stair.nosing_nm
    lowest_nm = (stair.risers - 1) * stair.unit_run_nm - stair.nosing_nm
    end_nm = lowest_nm + parts.bottom_treads * stair.unit_run_nm
    sloped_nm = slope_nm(rake, end_nm - start_nm)
    reach_nm = parts.clearance_nm + parts.width_nm
    pieces = [*split_evenly(sloped_nm, -(-sloped_nm // parts.longest_nm))] if sloped_nm else []
    if parts.top_extension_nm:
        pieces.insert(0, parts.top_extension_nm)
    returns = (parts.clearance_nm, parts.clearance_nm) if parts.returned else ()
    return Handrail(
        name=name,
        stair=stair.name,
        side=side,
        mount=HandrailMount.GUARD if side in stair.open_sides else HandrailMount.WALL,
        height_nm=parts.height_nm,
        start_nm=start_nm,
        end_nm=end_nm,
        slope_nm=sloped_nm,
        top_extension_nm=parts.top_extension_nm,
        returns_nm=returns,
        pieces_nm=tuple(pieces),
        brackets_nm=_brackets(stair, sloped_nm, parts),
        clearance_nm=parts.clearance_nm,
        projection_nm=reach_nm,
        saw_deg=rake.angle_deg,
    )


def _brackets(stair: Stair, sloped_nm: int, parts: HandrailParts) -> tuple[int, ...]:
    """Set brackets evenly, the first and last within reach of the ends."""
    end_nm = min(parts.bracket_end_nm, sloped_nm // 4)
    between_nm = sloped_nm - 2 * end_nm
    if between_nm <= 0:
        raise UnbuildableLayout(
            f"a handrail {mm_of(sloped_nm):.1f} mm long on stair {stair.name} has no room for two "
            "brackets",
            element=f"stair {stair.name}",
            where=("deck", "stairs", stair.index),
            advice="Leave the handrail out, or list the stair's sides that take one.",
        )
    place, places = end_nm, [end_nm]
    for part in split_evenly(between_nm, -(-between_nm // parts.bracket_spacing_nm)):
        place += part
        places.append(place)
    return tuple(places)

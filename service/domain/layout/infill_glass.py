"""Glass panels: how many fill a bay, how wide they are, and where posts suit stock widths.

Fewest panels come first, then equal widths; stock widths are mixed of two at most, the others in
mirror order where their count allows one. Gaps take up what panels leave, equal to a nanometre.
Panels on a stair have plumb sides and raked edges and are cut to size; nobody stocks their angle
(common practice, no source).
"""

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate, combinations

from service.domain.errors import UnbuildableLayout
from service.domain.layout.evenly import spread
from service.domain.layout.infill_records import Panel, PanelRow
from service.domain.layout.infill_rows import above_bottom_rail_nm, rail_gap_nm
from service.domain.layout.records import ClearOpening, Rake
from service.domain.layout.stairs import fall_nm, plumb_depth_nm
from service.domain.layout.system import Glass, RailingSystem
from service.domain.lengths import mm_of, split_evenly

# More panels than the fewest that might do are tried this often; past it, their step or the stock
# widths are too coarse for the bay.
TRIES = 16
NM2_PER_M2 = Decimal(10) ** 18
GRAM = Decimal("0.001")


def panel_height_nm(system: RailingSystem, glass: Glass, rake: Rake | None) -> int:
    """Give a panel's plumb height, with what enters the rails. [nm]"""
    height = rail_gap_nm(system, rake) + glass.enters_nm
    if glass.bottom_rail:
        return height + glass.enters_nm
    depth = system.bottom_rail.depth_nm
    return height + (depth if rake is None else plumb_depth_nm(rake, depth))


def panel_mass_kg(width_nm: int, height_nm: int, glass: Glass) -> Decimal:
    """Give a panel's mass, half up to the gram. [kg]

    A raked panel is a parallelogram: its area is width x plumb height too.
    """
    mass = Decimal(width_nm) * Decimal(height_nm) * glass.mass_kg_m2 / NM2_PER_M2
    return mass.quantize(GRAM, ROUND_HALF_UP)


def widest_nm(height_nm: int, glass: Glass) -> int:
    """Give the widest panel that the system offers and two people carry. [nm]

    Raises:
        UnbuildableLayout: Even the narrowest panel is too heavy, or too high for its clamps.
    """
    if height_nm <= 0:
        raise UnbuildableLayout(
            "the rails leave no height for a panel",
            where=("system", "glass"),
            advice="Raise the guard height, lower the bottom gap, or take lower rails.",
        )
    _clamps(height_nm, glass)
    carried = int(glass.max_mass_kg * NM2_PER_M2 / (glass.mass_kg_m2 * height_nm))
    if carried < glass.min_width_nm:
        least = panel_mass_kg(glass.min_width_nm, height_nm, glass)
        raise UnbuildableLayout(
            f"a panel {mm_of(glass.min_width_nm):.1f} mm wide and {mm_of(height_nm):.1f} mm high "
            f"weighs {least} kg; two people carry {glass.max_mass_kg} kg",
            where=("system", "glass", "max_mass"),
            advice="Take thinner glass, a lower guard or narrower panels.",
        )
    return min(carried, glass.max_width_nm)


def _clamps(height_nm: int, glass: Glass) -> int:
    for clamps in glass.clamps:
        if height_nm <= clamps.up_to_nm:
            return clamps.per_panel
    if not glass.clamps:
        return 0
    raise UnbuildableLayout(
        f"panels are {mm_of(height_nm):.1f} mm high; clamps are listed up to "
        f"{mm_of(glass.clamps[-1].up_to_nm):.1f} mm",
        where=("system", "glass", "clamps"),
        advice="List how many clamps hold a panel of that height.",
    )


def fit_bay(clear_nm: int, widest: int, glass: Glass, *, raked: bool) -> tuple[int, ...] | None:
    """Choose the widths of the panels in one bay; None if its gaps cannot be kept.

    Args:
        clear_nm: Face to face of its posts, horizontal. [nm]
        widest: Widest panel allowed, see ``widest_nm``. [nm]
        glass: Widths and gaps.
        raked: True on a stair, where panels are cut to size.
    """
    fewest = max(1, (clear_nm - glass.max_gap_nm) // (widest + glass.max_gap_nm))
    for count in range(fewest, fewest + TRIES):
        if glass.stock and not raked:
            widths = stock_mix(clear_nm, count, count + 1, widest, glass)
        else:
            widths = _cut_widths(clear_nm, count, widest, glass)
        if widths is not None:
            return widths
    return None


def _cut_widths(clear_nm: int, count: int, widest: int, glass: Glass) -> tuple[int, ...] | None:
    most = min((clear_nm - (count + 1) * glass.min_gap_nm) // count, widest)
    width = most // glass.step_nm * glass.step_nm
    widest_gap = -(-(clear_nm - count * width) // (count + 1))
    if width < glass.min_width_nm or widest_gap >= glass.max_gap_nm:
        return None
    return (width,) * count


def stock_mix(
    clear_nm: int, count: int, gaps: int, widest: int, glass: Glass
) -> tuple[int, ...] | None:
    """Choose stock widths of two kinds at most that leave every gap within its bounds.

    One width for all comes first, the widest that does; then the two nearest each other, in
    mirror order where their counts allow one.

    Args:
        clear_nm: What panels and gaps fill together. [nm]
        count, gaps: How many panels and gaps.
        widest: Widest panel allowed. [nm]
        glass: Stock widths and bounds of the gaps.
    """
    low, high = clear_nm - gaps * (glass.max_gap_nm - 1), clear_nm - gaps * glass.min_gap_nm
    widths = sorted((s.width_nm for s in glass.stock if s.width_nm <= widest), reverse=True)
    for width in widths:
        if low <= count * width <= high:
            return (width,) * count
    pairs = sorted(combinations(widths, 2), key=lambda pair: (pair[0] - pair[1], -pair[0]))
    for wide, narrow in pairs:
        step = wide - narrow
        first = max(1, -((high - count * wide) // step))
        last = min(count - 1, (count * wide - low) // step)
        if first <= last:
            # An odd count of narrow panels among an even count has no mirror order.
            lopsided = count % 2 == 0 and first % 2 == 1
            narrows = first + 1 if lopsided and first < last else first
            return tuple(narrow if here else wide for here in spread(narrows, count))
    return None


def stock_marks(
    length_nm: int, faces_nm: tuple[int, int], bays: int, system: RailingSystem, glass: Glass
) -> tuple[int, ...] | None:
    """Set posts so that each bay takes one stock panel; None if no mix of widths closes the run.

    Args:
        length_nm: Centre to centre of the run's terminating posts. [nm]
        faces_nm: From those centres to the faces along the run. [nm]
        bays: How many bays.
        system, glass: Post width, heights, panel widths and gaps.

    Returns:
        (bays + 1,) post centres from the run's start. [nm]
    """
    half = system.post_width_nm // 2
    clear = length_nm - sum(faces_nm) - 2 * half * (bays - 1)
    widest = widest_nm(panel_height_nm(system, glass, None), glass)
    widths = stock_mix(clear, bays, 2 * bays, widest, glass)
    if widths is None:
        return None
    gaps = split_evenly(clear - sum(widths), bays)
    starts = (faces_nm[0], *(half,) * (bays - 1))
    ends = (*(half,) * (bays - 1), faces_nm[1])
    parts = zip(starts, widths, gaps, ends, strict=True)
    return (0, *accumulate(sum(part) for part in parts))


def panel_row(
    section: str,
    bays_nm: tuple[tuple[int, int], ...],
    rake: Rake | None,
    system: RailingSystem,
    glass: Glass,
) -> tuple[PanelRow, list[ClearOpening]]:
    """Set the panels of a section.

    Args:
        section: Its name.
        bays_nm: (n, 2) faces of the posts of each bay from the start post's centre. [nm]
        rake: Slope of the stair, None on the level.
        system, glass: Heights, widths, gaps, clamps.

    Raises:
        UnbuildableLayout: No panels fill a bay within the bounds of gap, width and mass.
    """
    height = panel_height_nm(system, glass, rake)
    widest, clamps = widest_nm(height, glass), _clamps(height, glass)
    panels: list[Panel] = []
    gaps: list[int] = []
    found: list[ClearOpening] = []
    on_stair = rake is not None
    names = {} if on_stair else {stock.width_nm: stock.name for stock in glass.stock}
    for left, right in bays_nm:
        widths = fit_bay(right - left, widest, glass, raked=on_stair)
        if widths is None:
            raise no_panels(right - left, glass)
        bay_gaps = split_evenly(right - left - sum(widths), len(widths) + 1)
        for start, width in zip(_starts(left, bay_gaps, widths), widths, strict=True):
            panels.append(
                Panel(
                    name=f"{section} panel {len(panels) + 1}",
                    start_nm=start,
                    width_nm=width,
                    height_nm=height,
                    drop_nm=fall_nm(rake, width) if rake else 0,
                    mass_kg=panel_mass_kg(width, height, glass),
                    clamps=clamps,
                    stock=names.get(width, ""),
                )
            )
        gaps.extend(bay_gaps)
        beside = max(bay_gaps[0], bay_gaps[-1])
        found.append(ClearOpening(section, "panel to post", beside, on_stair))
        found.extend(
            ClearOpening(section, "between panels", gap, on_stair) for gap in bay_gaps[1:-1]
        )
    if not glass.bottom_rail and rake is None:
        found.append(ClearOpening(section, "under the glass", system.bottom_gap_nm, on_stair))
    row = PanelRow(tuple(panels), tuple(gaps), glass.thickness_nm, _low_nm(system, glass, rake))
    return row, _widest_of_each(found)


def _starts(left: int, gaps: tuple[int, ...], widths: tuple[int, ...]) -> Iterator[int]:
    at = left
    for gap, width in zip(gaps, widths, strict=False):
        yield at + gap
        at += gap + width


def _low_nm(system: RailingSystem, glass: Glass, rake: Rake | None) -> int:
    if glass.bottom_rail:
        return above_bottom_rail_nm(system, rake) - glass.enters_nm
    return system.bottom_gap_nm if rake is None else system.stair_bottom_gap_nm


def _widest_of_each(openings: list[ClearOpening]) -> list[ClearOpening]:
    widest: dict[str, ClearOpening] = {}
    for opening in openings:
        first = widest.setdefault(opening.place, opening)
        if opening.clear_nm > first.clear_nm:
            widest[opening.place] = opening
    return list(widest.values())


def no_panels(clear_nm: int, glass: Glass) -> UnbuildableLayout:
    """Give the refusal of a length that no panels fill."""
    offered = (
        "stock widths of " + ", ".join(f"{mm_of(stock.width_nm):.1f}" for stock in glass.stock)
        if glass.stock
        else f"widths from {mm_of(glass.min_width_nm):.1f} to {mm_of(glass.max_width_nm):.1f}"
    )
    return UnbuildableLayout(
        f"no panels fill {mm_of(clear_nm):.1f} mm with gaps from {mm_of(glass.min_gap_nm):.1f} to "
        f"under {mm_of(glass.max_gap_nm):.1f} mm: {offered} mm",
        where=("system", "glass"),
        advice="List a width that does, cut panels to size, allow wider gaps, or move a post.",
    )

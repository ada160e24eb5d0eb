"""How pickets fall in a clear length: at a fixed pitch with balanced ends, or at a free pitch.

Source: the free-pitch count is checked against worked examples in ``tests/published``; balanced
ends of pre-punched rail are common practice, no source.
"""

from service.domain.errors import UnbuildableLayout
from service.domain.layout.advised import at_least
from service.domain.lengths import mm_of, split_evenly
from service.domain.record import record


@record(frozen=True, slots=True)
class Spacing:
    """Pickets in a clear length; positions are from the start post's face.

    Attributes:
        centres_nm: (n,) picket centres. [nm]
        end_gaps_nm: Clear gap before the first and after the last picket. [nm]
        pitch_nm: Centre to centre; the first one where free gaps share a rest. [nm]
    """

    centres_nm: tuple[int, ...]
    end_gaps_nm: tuple[int, int]
    pitch_nm: int

    @property
    def centred_on(self) -> str:
        """Name what lies in the middle: a picket for an odd count, else a gap."""
        return "picket" if len(self.centres_nm) % 2 else "gap"


def fixed_pitch(clear_nm: int, width_nm: int, pitch_nm: int, centred_on: str = "") -> Spacing:
    """Space pickets at a fixed pitch, as few as keep both ends within the normal gap.

    With gap g = pitch - width, the end gaps e are equal (to a nanometre) and lie in
    (g - pitch / 2, g]. Pickets wider than half the pitch would run into the posts where that
    makes e negative; one is left out there, which opens e to less than half the pitch. Where a
    picket or a gap is to lie in the middle, one picket more may be needed, which takes e down by
    half a pitch; it is added only while e stays positive.

    Args:
        clear_nm: Face to face of the posts. [nm]
        width_nm: Picket width. [nm]
        pitch_nm: Picket pitch, wider than a picket. [nm]
        centred_on: "picket", "gap", or "" for whichever needs fewer pickets.

    Raises:
        UnbuildableLayout: No picket fits, or the pitch leaves no gap.

    Example:
        >>> from service.domain.lengths import inches
        >>> row = fixed_pitch(inches(69, 1, 2), inches(0, 3, 4), inches(4, 1, 2))
        >>> len(row.centres_nm), row.end_gaps_nm[0] / inches(1)
        (15, 2.875)
    """
    _refuse_no_room(clear_nm, width_nm)
    if pitch_nm <= width_nm:
        raise UnbuildableLayout(
            f"a picket pitch of {mm_of(pitch_nm):.2f} mm leaves no gap between pickets "
            f"{mm_of(width_nm):.2f} mm wide",
            where=("system", "pickets", "pitch"),
            advice="Send the centre-to-centre pitch.",
        )
    gap_nm = pitch_nm - width_nm
    count = max(1, -((width_nm + 2 * gap_nm - clear_nm) // pitch_nm) + 1)
    rest = clear_nm - (count - 1) * pitch_nm - width_nm
    if rest < 0:
        count, rest = count - 1, rest + pitch_nm
    if centred_on and (count % 2 == 1) != (centred_on == "picket") and rest > pitch_nm:
        count, rest = count + 1, rest - pitch_nm
    start = rest // 2
    centres = tuple(start + width_nm // 2 + i * pitch_nm for i in range(count))
    return Spacing(centres, (start, rest - start), pitch_nm)


def free_pitch(clear_nm: int, width_nm: int, max_gap_nm: int) -> Spacing:
    """Space as few pickets as possible with equal gaps strictly below a limit.

    Args:
        clear_nm: Face to face of the posts. [nm]
        width_nm: Picket width. [nm]
        max_gap_nm: Every clear gap stays strictly below this. [nm]

    Raises:
        UnbuildableLayout: No picket fits in the clear length.

    Example:
        >>> from service.domain.lengths import inches
        >>> row = free_pitch(inches(92), inches(1, 1, 2), inches(4))
        >>> len(row.centres_nm), round(row.end_gaps_nm[0] / inches(1), 4)
        (17, 3.6944)
    """
    _refuse_no_room(clear_nm, width_nm)
    # The widest of n + 1 whole-nanometre gaps is ceil((clear - n width) / (n + 1)).
    count = max(1, (clear_nm - max_gap_nm) // (width_nm + max_gap_nm))
    while _widest_gap(clear_nm, width_nm, count) >= max_gap_nm:
        count += 1
    gaps = split_evenly(clear_nm - count * width_nm, count + 1)
    centres, face = [], 0
    for gap in gaps[:-1]:
        face += gap
        centres.append(face + width_nm // 2)
        face += width_nm
    pitch = centres[1] - centres[0] if count > 1 else width_nm + gaps[0]
    return Spacing(tuple(centres), (gaps[0], gaps[-1]), pitch)


def _widest_gap(clear_nm: int, width_nm: int, count: int) -> int:
    return -(-(clear_nm - count * width_nm) // (count + 1))


def _refuse_no_room(clear_nm: int, width_nm: int) -> None:
    if clear_nm < width_nm:
        raise UnbuildableLayout(
            f"a bay of {mm_of(clear_nm):.1f} mm clear is too small for a picket of "
            f"{mm_of(width_nm):.1f} mm",
            advice="Leave the post out or set the posts further apart by at least "
            f"{at_least(width_nm - clear_nm)}.",
        )

"""Whether the posts at both ends of a flight stand in line, where the lower one stands already.

The lower post belongs to a landing or to a lower level that was taped for itself, so it may lie
beside the line of the stair or before or behind its lowest riser.
"""

from service.domain.errors import UnbuildableLayout
from service.domain.layout.deck import Stair
from service.domain.layout.edge_plan import LevelPlan
from service.domain.layout.frame import Frame
from service.domain.layout.outline import EdgeLine
from service.domain.layout.stairs import FlightPost
from service.domain.lengths import INCH, mm_of, snap_mm

# A bottom post this far out of line is plumbed in without a word: common practice, no source.
IN_LINE_NM = INCH // 16
# A lower level this far from the lowest riser is another place than the stair's foot: judgement.
SAME_PLACE_NM = INCH


def standing_foot(
    frame: Frame, plan: LevelPlan, line: EdgeLine, stair: Stair, ends: tuple[str, str]
) -> FlightPost:
    """Take a post of the level below as a flight's bottom post, and check that it is in line.

    Args:
        frame: The job so far; told in its notes of small shifts.
        plan: Level the flight leaves.
        line: Edge the flight leaves.
        stair: The flight.
        ends: Names of the top post and of the bottom post.

    Raises:
        UnbuildableLayout: The bottom post stands more than half a post beside the line, or the
            lower level's edge does not lie at the lowest riser.
    """
    (ax, ay), (bx, by) = (frame.posts[name].at for name in ends)
    dx, dy = mm_of(bx - ax), mm_of(by - ay)
    x_nm = snap_mm(dx * line.uy - dy * line.ux) - plan.inward_nm
    _check_beside(frame, stair, ends, snap_mm(dx * line.ux + dy * line.uy))
    riser_nm = (stair.risers - 1) * stair.unit_run_nm - stair.nosing_nm
    _check_foot(frame, stair, x_nm - frame.inward_nm[frame.posts[ends[1]].level] - riser_nm)
    return FlightPost(x_nm, -stair.total_rise_nm, stair.bottom.value)


def _check_beside(frame: Frame, stair: Stair, ends: tuple[str, str], aside_nm: int) -> None:
    if abs(aside_nm) <= IN_LINE_NM:
        return
    hand = "left" if aside_nm > 0 else "right"
    top, bottom = ends
    message = (
        f"{bottom} stands {mm_of(abs(aside_nm)):.1f} mm to the {hand} of the line of {stair.name} "
        f"through {top}, walking down"
    )
    if abs(aside_nm) > frame.system.post_width_nm // 2:
        raise _refusal(
            stair,
            message,
            f"Shift the start {mm_of(abs(aside_nm)):.1f} mm to the {hand}, keep the stair "
            "clear of the corner, or set the stair's set-back equal to the deck's.",
        )
    frame.notes.append(f"{message}: shift the start by as much before drilling.")


def _check_foot(frame: Frame, stair: Stair, beyond_nm: int) -> None:
    if abs(beyond_nm) <= IN_LINE_NM:
        return
    way = "beyond" if beyond_nm > 0 else "short of"
    message = (
        f"the level that {stair.name} arrives at begins {mm_of(abs(beyond_nm)):.1f} mm {way} its "
        "lowest riser"
    )
    if abs(beyond_nm) > SAME_PLACE_NM:
        raise _refusal(
            stair,
            message,
            "Check risers, unit run and the lower level's place in plan; both levels share one "
            "plan.",
        )
    note = f"{message[0].upper()}{message[1:]}: tape it again before the stair rail is cut."
    if note not in frame.notes:
        frame.notes.append(note)


def _refusal(stair: Stair, message: str, advice: str) -> UnbuildableLayout:
    return UnbuildableLayout(
        message,
        element=f"stair {stair.name}",
        where=("deck", "stairs", stair.index),
        advice=advice,
    )

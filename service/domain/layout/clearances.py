"""Gaps left at rail ends: what fitting asks, and what the metal's movement with heat asks.

A rail is cut for the day it goes in and must still fit on the hottest day; on the coldest it must
not leave its sleeve. Temperatures are those of the metal, not of the air.

Source: linear expansion, alpha x length x change, as in ``tests/published``; that a rail fixed to
a post at one end moves at the other, and that two free ends share the movement, is common
practice, no source.
"""

from service.domain.layout.deck import Conditions
from service.domain.layout.system import Joint, JointKind, RailingSystem
from service.domain.lengths import mm_of, snap_mm
from service.domain.record import record


@record(frozen=True, slots=True)
class EndGap:
    """The gap at one end of a section's rails, horizontally.

    Attributes:
        enters_nm: How far the rail would go past the post's face without any gap. [nm]
        gap_nm: Left when the rail goes in. [nm]
        widest_nm: On the coldest day; None without conditions. [nm]
        hold_nm: What the joint still holds of the rail then; None where that is not known. [nm]
    """

    enters_nm: int
    gap_nm: int
    widest_nm: int | None = None
    hold_nm: int | None = None

    @property
    def allowance_nm(self) -> int:
        """What the end adds to the face-to-face length; negative where it shortens. [nm]"""
        return self.enters_nm - self.gap_nm


def movement_nm(expansion_per_k: float, length_nm: int, change_k: float) -> int:
    """Say how much longer a length becomes: alpha x length x change. [nm]

    Args:
        expansion_per_k: Coefficient of linear expansion. [1/K]
        length_nm: Length at the first temperature. [nm]
        change_k: Difference of two temperatures. [K]

    Example:
        >>> movement_nm(24e-6, 6_000_000_000, 60.0) / 1_000_000
        8.64
    """
    return snap_mm(expansion_per_k * mm_of(length_nm) * change_k)


def end_gaps(
    joints: tuple[JointKind, JointKind],
    faces_nm: int,
    system: RailingSystem,
    conditions: Conditions | None,
) -> tuple[EndGap, EndGap]:
    """Give the gaps at both ends of a section, the larger of clearance and fitting plus movement.

    Rails on a slope move along it; the horizontal part of that is the movement of their
    horizontal length, so that one reckoning does for both.

    Args:
        joints: Start and end joint; a fixed end does not move.
        faces_nm: Horizontal distance between the places where the rail touches its posts. [nm]
        system: Gives what each joint asks and the rail's expansion.
        conditions: Temperatures; None leaves the system's clearances as they are.
    """
    start, end = (system.joints.get(kind, Joint()) for kind in joints)
    if conditions is None:
        return EndGap(start.enters_nm, start.clearance_nm), EndGap(end.enters_nm, end.clearance_nm)
    length_nm = faces_nm + start.enters_nm + end.enters_nm
    warms_k = max(0.0, conditions.highest_k - conditions.installed_k)
    cools_k = max(0.0, conditions.installed_k - conditions.lowest_k)
    free = sum(kind is not JointKind.FIXED for kind in joints)
    found = []
    for kind, joint in zip(joints, (start, end), strict=True):
        gap_nm = widest_nm = joint.clearance_nm
        if kind is not JointKind.FIXED:
            grows_nm = -(-movement_nm(system.expansion_per_k, length_nm, warms_k) // free)
            shrinks_nm = -(-movement_nm(system.expansion_per_k, length_nm, cools_k) // free)
            gap_nm = max(joint.clearance_nm, joint.fitting_nm + grows_nm)
            widest_nm = gap_nm + shrinks_nm
        hold_nm = None
        if kind is not JointKind.FIXED and (joint.reach_nm is not None or joint.enters_nm):
            hold_nm = (joint.reach_nm or 0) + joint.enters_nm - widest_nm
        found.append(EndGap(joint.enters_nm, gap_nm, widest_nm, hold_nm))
    return found[0], found[1]


def sleeve_notes(
    section: str,
    ends: tuple[tuple[str, JointKind, EndGap], tuple[str, JointKind, EndGap]],
    system: RailingSystem,
) -> list[str]:
    """Warn of joints that cannot follow the movement, for a section under conditions.

    Args:
        section: Its name.
        ends: Post, joint and gap at its start and its end.
        system: Gives how much of a rail each joint must hold.
    """
    notes = []
    for post, kind, gap in ends:
        joint = system.joints.get(kind, Joint())
        if gap.hold_nm is not None and gap.hold_nm < max(joint.least_hold_nm, 1):
            notes.append(
                f"{section} at {post}: on the coldest day the {kind.value} holds "
                f"{mm_of(max(gap.hold_nm, 0)):.1f} mm of the rail, "
                f"{mm_of(joint.least_hold_nm):.1f} mm is the least. Use a longer {kind.value}, or "
                "a shorter section."
            )
    if all(kind is JointKind.FIXED for _, kind, _ in ends):
        notes.append(
            f"{section} is fixed at both ends and cannot move with heat. Give one end a sleeve."
        )
    return notes


def unknown_reach(kinds: set[JointKind], system: RailingSystem) -> list[str]:
    """Say which joints were not checked on the coldest day, because their reach is not known."""
    unknown = [
        kind.value
        for kind in JointKind
        if kind in kinds
        and kind is not JointKind.FIXED
        and (joint := system.joints.get(kind, Joint())).reach_nm is None
        and not joint.enters_nm
    ]
    if not unknown:
        return []
    return [
        f"How far a {' or '.join(unknown)} reaches over the rail is not given: whether it holds "
        "the rail on the coldest day is not checked."
    ]

"""What the layout says of stairs beyond posts and rails: handrails, transitions, raked ends."""

from enum import StrEnum

from service.domain.layout.deck import Side
from service.domain.record import record


class HandrailMount(StrEnum):
    """What a handrail's brackets are fixed to."""

    WALL = "wall"
    GUARD = "guard"


@record(frozen=True, slots=True)
class HandrailParts:
    """A system's handrail. All lengths in nanometres.

    Attributes:
        height_nm: Nosing line to the top of the handrail, vertical.
        width_nm: Across, the diameter where it is round.
        clearance_nm: Clear gap between it and the wall or guard.
        bracket_spacing_nm: Greatest distance between brackets along it.
        bracket_end_nm: Greatest distance from an end of the sloped part to its first bracket.
        top_extension_nm: Level, beyond the top riser; 0 for none.
        bottom_treads: Tread depths it goes on along the rake beyond the lowest riser, 0 or 1.
        returned: Whether its ends turn back to the wall or post.
        longest_nm: Longest piece that stock and carrying allow.
    """

    height_nm: int
    width_nm: int
    clearance_nm: int
    bracket_spacing_nm: int
    bracket_end_nm: int
    longest_nm: int
    top_extension_nm: int = 0
    bottom_treads: int = 0
    returned: bool = True


@record(frozen=True, slots=True)
class Handrail:
    """One handrail of one flight.

    Attributes:
        start_nm: Where its sloped part starts, from the top nosing, horizontal. [nm]
        end_nm: Where it ends, the bottom extension included. [nm]
        slope_nm: Length of the sloped part along it. [nm]
        top_extension_nm: Level part above it. [nm]
        returns_nm: Length of each returned end, empty without returns. [nm]
        pieces_nm: Cut lengths; the level part and the sloped part are separate pieces. [nm]
        brackets_nm: Places along the sloped part. [nm]
        projection_nm: From the wall or guard to its far face. [nm]
    """

    name: str
    stair: str
    side: Side
    mount: HandrailMount
    height_nm: int
    start_nm: int
    end_nm: int
    slope_nm: int
    top_extension_nm: int
    returns_nm: tuple[int, ...]
    pieces_nm: tuple[int, ...]
    brackets_nm: tuple[int, ...]
    clearance_nm: int
    projection_nm: int
    saw_deg: float


@record(frozen=True, slots=True)
class Transition:
    """Top rails at a post where level guard meets a stair rail.

    Attributes:
        level_top_nm: Top of the level rail above the walking surface. [nm]
        stair_top_nm: Top of the stair rail above it, at the post's lower face. [nm]
        step_nm: How far the stair rail lies below the level rail there; negative above. [nm]
        mitre_deg: Cut on each piece if the top rail is to run round without a step. [deg]
    """

    post: str
    section: str
    level_top_nm: int
    stair_top_nm: int
    step_nm: int
    mitre_deg: float


@record(frozen=True, slots=True)
class RakedFit:
    """How a raked rail's ends sit in their posts.

    Attributes:
        entry_nm: How far each end goes past the post face, horizontal. [nm]
        saw_deg: Angle of the end cuts off square. [deg]
        visible_gap_nm: Open at the bottom of the post opening, where the cut is not plumb. [nm]
    """

    rail: str
    entry_nm: int
    saw_deg: float
    visible_gap_nm: int

"""The block schedule: plies gathered into blocks, each cut once where two posts share it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.domain.layout.deck import Point
from service.domain.layout.framing import Block
from service.domain.layout.joists import HAIR, JoistField
from service.domain.lengths import MILLIMETRE, mm_of, snap_mm

# Plies of two posts this near each other are one ply. [nm]
SAME_NM = MILLIMETRE
# Plies of one post lie nearer together than this, so that neighbours are found at once. [mm]
STRETCH = 1500.0


@dataclass(frozen=True, slots=True)
class Ply:
    """One piece of blocking before it has a name.

    Attributes:
        centre: Its u in joist coordinates, or for blocks along a rim its order there. [mm]
        between: What its ends meet.
        length_nm: Cut length, long point to long point. [nm]
        end_deg: Angle off square of each end. [deg]
        middle: Plan position of its middle. [nm]
        fasteners: 0-based holes whose fasteners it holds.
    """

    centre: float
    between: tuple[str, str]
    length_nm: int
    end_deg: tuple[float, float]
    middle: Point
    fasteners: tuple[int, ...] = ()


def cut_ply(field: JoistField, centre: float, v: float, held: tuple[int, ...] = ()) -> Ply:
    """Cut a ply square to the joists, from joist to joist or rim, long point to long point.

    Args:
        field: Timber near it.
        centre: Its u. [mm]
        v: A place in its bay, where both its sides are clear of rim and joists. [mm]
        held: Fasteners it is for.
    """
    half = mm_of(field.framing.block_thickness_nm) / 2
    us = [centre - half + HAIR, centre + half - HAIR]
    us += [u for (u, _), _ in field.inner_near if us[0] < u < us[1]]
    ends, names, turns = [], [], []
    for way in (-1.0, 1.0):
        hits = [field.reach((u, v), (0.0, way)) for u in us]
        longest = max(hits[:2], key=lambda hit: hit.away)
        ends.append(v + way * max(hit.away for hit in hits))
        names.append(longest.timber)
        turns.append(round(longest.off_square_deg, 6) + 0.0)
    length_nm = snap_mm(ends[1] - ends[0]) - field.framing.block_fit_nm
    middle = field.to_plan((centre, (ends[0] + ends[1]) / 2))
    low, high = names
    return Ply(centre, (low, high), length_nm, (turns[0], turns[1]), middle, held)


class BlockSchedule:
    """Collects blocks in the order of the posts."""

    def __init__(self) -> None:
        self._blocks: list[Block] = []
        # Where plies of two posts may meet: level, bay, and stretch of the bay.
        self._nearby: dict[tuple[str, tuple[str, str], int], list[int]] = {}

    def blocks(self) -> tuple[Block, ...]:
        """Give every block."""
        return tuple(self._blocks)

    def add(
        self, post: str, level: str, field: JoistField, plies: Sequence[Ply]
    ) -> tuple[list[str], list[str]]:
        """Add the plies of one post in one bay; plies cut alike make one block.

        Returns:
            The name of each ply's block, and notes on blocks of other posts in the way.
        """
        alike: dict[tuple[object, ...], list[Ply]] = {}
        for ply in plies:
            alike.setdefault((ply.between, ply.length_nm, ply.end_deg), []).append(ply)
        names: dict[int, str] = {}
        notes: list[str] = []
        for group in alike.values():
            name, note = self._add_block(post, level, field, group)
            names |= {id(ply): name for ply in group}
            notes += note
        return [names[id(ply)] for ply in plies], notes

    def _add_block(
        self, post: str, level: str, field: JoistField, group: Sequence[Ply]
    ) -> tuple[str, list[str]]:
        first = group[0]
        middles = tuple(ply.middle for ply in group)
        stretch = int(first.centre // STRETCH)
        beside = (stretch - 1, stretch, stretch + 1)
        notes = []
        for index in (i for s in beside for i in self._nearby.get((level, first.between, s), ())):
            other = self._blocks[index]
            if other.length_nm == first.length_nm and _same(other.plies, middles):
                self._blocks[index] = replace(other, posts=(*other.posts, post))
                return other.name, []
            if _clash(other.plies, middles, field):
                notes.append(
                    f"Its blocking meets {other.name} of {' and '.join(other.posts)} between "
                    f"{' and '.join(first.between)}; fit them together on site."
                )
        name = f"B{len(self._blocks) + 1}"
        self._nearby.setdefault((level, first.between, stretch), []).append(len(self._blocks))
        self._blocks.append(
            Block(name, level, (post,), first.between, first.length_nm, first.end_deg, middles)
        )
        return name, notes


def _same(these: Sequence[Point], those: Sequence[Point]) -> bool:
    return len(these) == len(those) and all(
        max(abs(a[0] - b[0]), abs(a[1] - b[1])) <= SAME_NM
        for a, b in zip(sorted(these), sorted(those), strict=True)
    )


def _clash(these: Sequence[Point], those: Sequence[Point], field: JoistField) -> bool:
    """Tell whether any two plies overlap, along the joists."""
    thickness = mm_of(field.framing.block_thickness_nm)
    mine = [field.to_uv(at)[0] for at in these]
    theirs = [field.to_uv(at)[0] for at in those]
    return any(abs(a - b) < thickness for a in mine for b in theirs)

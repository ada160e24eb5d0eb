"""What else was said of the job, that only a code check reads: use, pool, steps as taped.

Everything may be left out; what is not known is never taken as met.
"""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from service.domain.record import record


class Use(StrEnum):
    """What the deck belongs to, in the words that codes divide by."""

    ONE_FAMILY = "one_family"  # a house for one family
    TWO_FAMILY = "two_family"
    R_3 = "R-3"
    R_2 = "R-2"  # within one dwelling unit of such a building
    PUBLIC = "public"  # anything else


class RiserKind(StrEnum):
    """Whether a board closes the space between treads."""

    SOLID = "solid"
    OPEN = "open"


class ReleaseSide(StrEnum):
    """Side of a pool's gate on which its latch is released."""

    POOL = "pool"
    OUTSIDE = "outside"


class GripShape(StrEnum):
    """Cross-section of a handrail."""

    ROUND = "round"
    OTHER = "other"


@record(frozen=True, slots=True)
class StairFacts:
    """One stair as taped, beside what the layout needs. All lengths in nanometres.

    Attributes:
        risers_nm: Each riser from the top, of all flights; empty if they were not taped singly.
        treads_nm: Each tread from the top, nosing to nosing.
        nosings_nm: Projection of each nosing from the top.
        riser_kind: Solid or open.
        tread_thickness_nm: With open risers, what each tread takes of the gap.
        nosing_radius_nm: Rounding of the leading edges.
        headroom_nm: Least height over the nosing line.
        top_landing_nm, bottom_landing_nm: Depth in the direction of travel.
        tread_slope, landing_slope: Steepest slope of any tread and of any landing, rise over run.
        riser_lean_deg: Lean of the risers from upright. [deg]
    """

    risers_nm: tuple[int, ...] = ()
    treads_nm: tuple[int, ...] = ()
    nosings_nm: tuple[int, ...] = ()
    riser_kind: RiserKind | None = None
    tread_thickness_nm: int | None = None
    nosing_radius_nm: int | None = None
    headroom_nm: int | None = None
    top_landing_nm: int | None = None
    bottom_landing_nm: int | None = None
    tread_slope: Fraction | None = None
    landing_slope: Fraction | None = None
    riser_lean_deg: float | None = None


@record(frozen=True, slots=True)
class GateFacts:
    """How a gate shuts, beside what the layout needs.

    Attributes:
        closes, latches: Whether it does so by itself.
        opens_from_pool: Whether it opens away from the pool.
        release_nm: Height of the latch's release above the bottom of the gate. [nm]
        release_side: Side of the gate on which the release is.
        opening_nm: Largest opening within 18 in of the release. [nm]
    """

    closes: bool | None = None
    latches: bool | None = None
    opens_from_pool: bool | None = None
    release_nm: int | None = None
    release_side: ReleaseSide | None = None
    opening_nm: int | None = None


@record(frozen=True, slots=True)
class Recess:
    """A finger recess on both sides of a handrail. [nm]"""

    start_nm: int
    depth_nm: int
    width_nm: int


@record(frozen=True, slots=True)
class Grip:
    """Cross-section of the rail that a hand goes round, square to it. All lengths in nanometres.

    Attributes:
        shape: Round or other.
        diameter_nm: Outside, of a round one.
        perimeter_nm: Round the outside, of any other.
        cross_nm: Greatest dimension across, of any other.
        edge_radius_nm: Least rounding of its edges.
        recess: Finger recesses, None if there are none.
    """

    shape: GripShape
    diameter_nm: int | None = None
    perimeter_nm: int | None = None
    cross_nm: int | None = None
    edge_radius_nm: int | None = None
    recess: Recess | None = None


@record(frozen=True, slots=True)
class Site:
    """Everything said beside deck and system.

    Attributes:
        use: What the deck belongs to.
        pool: Whether its guard is the barrier of a pool.
        surface_heights_nm: Height of a level's walking surface above the finished ground, by name.
        stairs: Facts by the stair's place in the request.
        grip: Of the stair's handrail.
        gates: Facts by the gate's name.
    """

    use: Use | None = None
    pool: bool | None = None
    surface_heights_nm: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    stairs: Mapping[int, StairFacts] = field(default_factory=lambda: MappingProxyType({}))
    grip: Grip | None = None
    gates: Mapping[str, GateFacts] = field(default_factory=lambda: MappingProxyType({}))


NOTHING_SAID = Site()
SITE_ATTRIBUTES = frozenset({"use", "dwelling", "one_or_two_family", "private", "pool_barrier"})


def site_attributes(site: Site) -> dict[str, str | None]:
    """Give what clauses may ask of the whole job, None where it was not said."""
    use = site.use
    return {
        "use": use,
        "dwelling": None if use is None else _yes(use is not Use.PUBLIC),
        "one_or_two_family": (
            None if use is None else _yes(use in (Use.ONE_FAMILY, Use.TWO_FAMILY))
        ),
        "private": None if use is None else _yes(use in (Use.ONE_FAMILY, Use.R_2, Use.R_3)),
        "pool_barrier": None if site.pool is None else _yes(site.pool),
    }


def _yes(answer: bool) -> str:
    return "yes" if answer else "no"

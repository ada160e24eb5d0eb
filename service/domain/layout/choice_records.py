"""What a caller wishes of the layout, and what else would have done for each run."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from service.domain.layout.deck import Point


class Wish(StrEnum):
    """What a run's division is ranked by."""

    FEWEST_POSTS = "fewest_posts"
    MOST_EVEN = "most_even"
    LEAST_MATERIAL = "least_material"  # chosen jointly over all runs, by the cost of the order
    NEAR_PLACES = "near_places"  # posts near given places, such as joists
    CLEAR_OF_PLACES = "clear_of_places"  # posts away from given places, such as view lines


@dataclass(frozen=True, slots=True)
class Preference:
    """The caller's wish.

    Attributes:
        places: Plan points that NEAR_PLACES and CLEAR_OF_PLACES speak of. [nm]
        list_alternatives: Whether the layout says what else would do for each run.
        picks: Alternative to take for a run, by its name; 0, the best, where none is named.
    """

    wish: Wish = Wish.FEWEST_POSTS
    places: tuple[Point, ...] = ()
    list_alternatives: bool = False
    picks: Mapping[str, int] = field(default_factory=dict)

    @property
    def ranks(self) -> bool:
        """Tell whether alternatives must be worked out at all."""
        return self.wish is not Wish.FEWEST_POSTS or self.list_alternatives or bool(self.picks)


@dataclass(frozen=True, slots=True)
class RunOption:
    """One way to divide a run, in numbers.

    Attributes:
        posts: Posts between its ends.
        spans_nm: Its bays. [nm]
        uneven_nm: Longest bay less the shortest. [nm]
        symmetric: Whether its posts mirror about the middle of the run.
        cost_nm: What its posts cost the wish for places, a sum of distances; else 0. [nm]
    """

    posts: int
    spans_nm: tuple[int, ...]
    uneven_nm: int
    symmetric: bool
    cost_nm: int


@dataclass(frozen=True, slots=True)
class RunChoice:
    """What was chosen for a run and what else would do, the best first."""

    run: str
    picked: int
    options: tuple[RunOption, ...]

"""What a change of a job is: one dimension, count or choice that may cure a clause not met."""

from collections.abc import Callable
from dataclasses import dataclass, field

from service.domain.compliance.site import Site
from service.domain.layout.choice_records import Preference
from service.domain.layout.deck import Deck
from service.domain.layout.system import RailingSystem
from service.domain.structure.materials import Materials
from service.domain.structure.specification import StructureSpec


@dataclass(frozen=True, slots=True)
class Job:
    """What is laid out, screened and held against a code.

    Attributes:
        spec: What the railing is made of; None where no screening was asked for.
        materials: What else it might be made of.
    """

    deck: Deck
    system: RailingSystem
    site: Site
    preference: Preference
    spec: StructureSpec | None = None
    materials: Materials = field(default_factory=Materials)


@dataclass(frozen=True, slots=True)
class Remedy:
    """One thing to change.

    Attributes:
        change: What changes, such as "Guard height".
        member: Its place in the request, such as "system.guard_height".
        value: What it is now; a length in nanometres, a count, or 0 for a choice.
        counted: True for a count, a choice or a place in a list; else a length.
        apply: Gives the job with another value.
        steps: Which way to try: 1 up, -1 down, 0 for a choice that is simply made.
        grid_nm: Step of a length in imperial and in metric jobs; None takes the tape's.
        furthest: Last value that is tried; None leaves it to the search.
        words: Gives a value as people read it, where a tape's sixteenths would not do.
    """

    change: str
    member: str
    value: int
    apply: Callable[[Job, int], Job]
    steps: int
    counted: bool = False
    grid_nm: tuple[int, int] | None = None
    furthest: int | None = None
    words: Callable[[int], str] | None = None

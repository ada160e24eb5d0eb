"""What the four requests ask for, once their lengths are nanometres and their names resolved."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from service.domain.compliance.findings import Amendment
from service.domain.compliance.site import NOTHING_SAID, Site
from service.domain.cutting.offcuts import Offcut
from service.domain.errors import TooLarge
from service.domain.layout.choice_records import Preference
from service.domain.layout.deck import Deck, Level
from service.domain.layout.system import Cables, Glass, RailingSystem
from service.domain.pricing.price_table import PriceTable, PricingSettings
from service.domain.structure.materials import Materials
from service.domain.structure.specification import StructureSpec
from service.domain.takeoff.parts import PartsList

# Bounds on one job, far above any deck; they keep one request from taking the machine.
MOST_PICKETS = 100_000
MOST_POSTS = 20_000
MOST_ROWS = 200
MOST_FRAMED_POSTS = 2_000


class Units(StrEnum):
    """How lengths are printed in the answer."""

    IMPERIAL = "imperial"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class CodeSelection:
    """A code and its edition, or a place whose adoption says which; the other part is empty.

    Attributes:
        amendments: Changes the caller makes to single clauses.
    """

    code: str = ""
    edition: str = ""
    place: str = ""
    amendments: tuple[Amendment, ...] = ()

    @property
    def name(self) -> str:
        """How an answer names it, such as "IRC 2021"."""
        return self.place or f"{self.code.upper()} {self.edition}"


StructureWish = Callable[[Materials], StructureSpec]
"""Gives what the railing is made of, once alloys and timber are looked up by name."""


@dataclass(frozen=True, slots=True)
class LayoutOrder:
    """A deck to lay out."""

    deck: Deck
    system: RailingSystem
    units: Units
    preference: Preference = field(kw_only=True, default_factory=Preference)


@dataclass(frozen=True, slots=True)
class CodeCheckOrder:
    """A deck to hold against a code.

    Attributes:
        codes: One, or several to hold side by side.
        on: Day whose edition counts; None leaves it to the HTTP edge, which knows today.
        side_by_side: Whether a comparison was asked for.
        site: What else was said of the job.
        structure: What to screen; None leaves loads unjudged.
    """

    deck: Deck
    system: RailingSystem
    units: Units
    codes: tuple[CodeSelection, ...]
    on: date | None
    side_by_side: bool = False
    site: Site = NOTHING_SAID
    preference: Preference = field(kw_only=True, default_factory=Preference)
    structure: StructureWish | None = field(kw_only=True, default=None)


@dataclass(frozen=True, slots=True)
class TakeoffOrder:
    """A deck to take off and cut; without prices, length stands for money.

    Attributes:
        offcuts: On hand, to be used before anything is bought.
        use_offcuts: Whether those that the service keeps are on hand too.
    """

    deck: Deck
    system: RailingSystem
    units: Units
    parts: PartsList
    prices: PriceTable | None
    preference: Preference = field(kw_only=True, default_factory=Preference)
    offcuts: tuple[Offcut, ...] = field(kw_only=True, default=())
    use_offcuts: bool = field(kw_only=True, default=False)


@dataclass(frozen=True, slots=True)
class QuoteOrder:
    """The whole job.

    Attributes:
        on: Day the quote is made for; None leaves it to the HTTP edge, which knows today.
        reference: The caller's own words, printed on the quote.
        site: What else was said of the job.
        structure: What to screen; None leaves loads unjudged.
        offcuts: On hand, to be used before anything is bought.
        use_offcuts: Whether those that the service keeps are on hand too.
        valid_until: Last day of the quote's validity, None without end.
    """

    deck: Deck
    system: RailingSystem
    units: Units
    parts: PartsList
    prices: PriceTable
    code: CodeSelection
    pricing: PricingSettings
    on: date | None
    reference: str
    site: Site = NOTHING_SAID
    preference: Preference = field(kw_only=True, default_factory=Preference)
    structure: StructureWish | None = field(kw_only=True, default=None)
    offcuts: tuple[Offcut, ...] = field(kw_only=True, default=())
    use_offcuts: bool = field(kw_only=True, default=False)
    valid_until: date | None = field(kw_only=True, default=None)


def refuse_oversize(deck: Deck, system: RailingSystem) -> None:
    """Refuse a job whose posts or infill could not be listed in one answer.

    The counts are estimated from the perimeter before anything is allocated.

    Raises:
        TooLarge: More than ``MOST_POSTS`` posts (fewer over framing, whose timber is checked) or
            ``MOST_PICKETS`` pickets, panels, cables or infill rails would be laid out, or
            ``MOST_ROWS`` of these above each other.
    """
    perimeter_nm = sum(_perimeter_nm(level) for level in deck.levels)
    posts = perimeter_nm // system.max_span_nm
    framed = any(level.framing for level in deck.levels)
    for count, most, thing in (
        (posts, MOST_FRAMED_POSTS if framed else MOST_POSTS, "posts"),
        *_infill_counts(system, perimeter_nm, posts),
    ):
        if count > most:
            raise TooLarge(
                f"This deck would need about {count:,} {thing}; at most {most:,} are laid out.",
                where=("deck",),
                advice="Check the units of the outline, or split the job into several decks.",
            )


def _infill_counts(
    system: RailingSystem, perimeter_nm: int, bays: int
) -> Iterator[tuple[int, int, str]]:
    """Give how many pickets, panels, cables or rails a job takes, the most allowed, and a word."""
    pickets, infill = system.pickets, system.infill
    if isinstance(infill, Glass):
        yield perimeter_nm // infill.min_width_nm, MOST_PICKETS, "panels"
    elif infill is None:
        pitch_nm = pickets.pitch_nm or pickets.width_nm + pickets.max_gap_nm
        yield perimeter_nm // pitch_nm, MOST_PICKETS, "pickets"
    else:
        word = "cables" if isinstance(infill, Cables) else "infill rails"
        size, give = (
            (infill.diameter_nm, infill.deflection_nm)
            if isinstance(infill, Cables)
            else (infill.depth_nm, 0)
        )
        height_nm = max(system.guard_height_nm, system.stair_guard_height_nm)
        rows = height_nm // (size + infill.max_gap_nm - give)
        yield rows, MOST_ROWS, f"{word} above each other"
        yield rows * bays, MOST_PICKETS, f"{word} in its bays"


def _perimeter_nm(level: Level) -> int:
    corners = level.outline
    return sum(
        math.isqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    )

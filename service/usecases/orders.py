"""What the four requests ask for, once their lengths are nanometres and their names resolved."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from service.domain.compliance.findings import Amendment
from service.domain.compliance.site import NOTHING_SAID, Site
from service.domain.cutting.offcuts import Offcut
from service.domain.layout.choice_records import Preference
from service.domain.layout.deck import Deck
from service.domain.layout.system import RailingSystem
from service.domain.pricing.price_table import PriceTable
from service.domain.pricing.settings import PricingSettings
from service.domain.structure.materials import Materials
from service.domain.structure.specification import StructureSpec
from service.domain.takeoff.parts import PartsList


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


@dataclass(frozen=True, slots=True)
class Customer:
    """Whom a quote is for, as far as that was said."""

    name: str = ""
    company: str = ""
    email: str = ""
    phone: str = ""
    address: tuple[str, ...] = ()


NOBODY = Customer()

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
        customer: Whom it is for.
        outside_reference: Its name in the caller's own books, may be "".
        draft: Whether it waits to be issued.
        stored: Kind, id and version of everything stored that it names.
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
    stored: tuple[tuple[str, str, int], ...] = field(kw_only=True, default=())
    valid_until: date | None = field(kw_only=True, default=None)
    customer: Customer = field(kw_only=True, default=NOBODY)
    outside_reference: str = field(kw_only=True, default="")
    draft: bool = field(kw_only=True, default=False)

"""What the use cases need from outside, as protocols; adapters and tests supply it."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Protocol

from service.domain.compliance.findings import Amendment, Clause
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.offcuts import Offcut
from service.domain.cutting.plan import CutPlan
from service.domain.errors import Where
from service.domain.layout.survey_records import DrawnOutline
from service.domain.money import Money
from service.domain.pricing.life import QuoteLife, State
from service.domain.pricing.material import MaterialLine
from service.domain.pricing.settings import PricingSettings
from service.usecases.conditions import Matches, tag_of_state
from service.usecases.orders import NOBODY, Customer

Saw = Callable[[CutDemand], CutPlan]
"""Finds the cheapest way to cut one material."""


class OutlineReader(Protocol):
    """Reads the outline of a level from a drawing."""

    def __call__(self, text: str, *, layer: str, unit: str, where: Where) -> DrawnOutline:
        """Give the corners and arcs of the drawing's closed polyline.

        Args:
            text: The drawing's file.
            layer: Layer to look on, "" where there is one polyline.
            unit: Unit of a drawing that states none, "" for none.
            where: Place of the outline in the request.

        Raises:
            InvalidGeometry: The drawing cannot be read, or holds no outline, or several.
        """
        ...


@dataclass(frozen=True, slots=True)
class EditionHeld:
    """One edition of a code, or an overlay that binds beside another code.

    Attributes:
        note: What a reader of its clauses should know.
        sources: Title and address of every source its clauses name.
    """

    code: str
    edition: str
    title: str
    overlay: bool
    note: str
    sources: tuple[str, ...]
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class PeriodHeld:
    """What a place has in force from a day on.

    Attributes:
        codes: Code and edition of everything adopted.
        amended: Key and change of each amended clause, and whether that is from memory.
        source: How the adoption and its day are known.
        from_memory: True where they were read in no copy.
    """

    since: date
    codes: tuple[tuple[str, str], ...]
    amended: tuple[tuple[str, str, bool], ...]
    source: str
    from_memory: bool


@dataclass(frozen=True, slots=True)
class PlaceHeld:
    """A place and what it adopted, earliest first."""

    name: str
    invented: bool
    note: str
    periods: tuple[PeriodHeld, ...]


class CodeLibrary(Protocol):
    """Clauses held as data."""

    def clauses(self, code: str, edition: str) -> tuple[Clause, ...]:
        """Give the clauses of one edition.

        Raises:
            UnknownCode: No such code and edition is held.
        """
        ...

    def amended(
        self, clauses: Sequence[Clause], amendments: Sequence[Amendment]
    ) -> tuple[Clause, ...]:
        """Apply a caller's amendments.

        Raises:
            InvalidAmendment: An amendment does not fit the clauses.
        """
        ...

    def editions_held(self) -> tuple[EditionHeld, ...]:
        """Give everything held, in order."""
        ...

    def places_held(self) -> tuple[PlaceHeld, ...]:
        """Give every place held, by name."""
        ...

    def edition(self, code: str, edition: str) -> EditionHeld:
        """Give one edition.

        Raises:
            CodeNotFound: No such code and edition is held.
        """
        ...

    def in_force(self, place: str, on: date) -> tuple[Clause, ...]:
        """Give the clauses in force in a place on a day.

        Raises:
            UnknownCode: The place is not held, or nothing was in force there yet.
        """
        ...


@dataclass(frozen=True, slots=True)
class StoredQuote:
    """A quote as it was answered, with all that is needed to compute it again.

    Attributes:
        id: UUID, as text.
        created_at: When it was made, UTC.
        reference: The caller's own words, may be "".
        service_version: Version of the service that made it.
        price_table: Name of the price table.
        codes: Code and edition of every clause used, such as ("IRC 2021",).
        total: What the customer pays.
        request: Body as it was received, what it refers to pinned.
        answer: Body as it was answered.
        offcuts: Ids of the stored offcuts its cut plans use.
        remnants: What its cut plans leave over that is worth keeping.
        life: How its life begins: as a draft or issued, a first quote or a revision.
        costs: What it costs its dealer; None of a quote older than the service's costs.
        customer: Whom it is for.
        outside_reference: Its name in the caller's own books, may be "".
        inputs: What it was made from besides the request.
        material: Its order, to be priced again; None keeps none.
    """

    id: str
    created_at: datetime
    reference: str
    service_version: str
    price_table: str
    codes: tuple[str, ...]
    total: Money
    request: bytes
    answer: bytes
    life: QuoteLife
    offcuts: tuple[str, ...] = ()
    remnants: tuple["LeftOver", ...] = ()
    costs: bytes | None = None
    customer: Customer = NOBODY
    outside_reference: str = ""
    inputs: "Inputs" = field(default_factory=lambda: Inputs())
    material: "Material | None" = None


@dataclass(frozen=True, slots=True)
class Material:
    """An order as it is kept to be priced again, and what it was priced by.

    Attributes:
        lines: Goods, labour, carriage.
        settings: The dealer's rules.
        priced_on: Day whose prices were in force.
        table_id: Of the stored price table, "" for one that was sent.
        version: Of that table, 0 for one that was sent.
    """

    lines: tuple[MaterialLine, ...]
    settings: PricingSettings
    priced_on: date
    table_id: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class KeptMaterial:
    """The order that is kept of a quote.

    Attributes:
        total: What the quote came to.
        material_of: The quote that was made whole; itself, unless it was re-priced.
    """

    material: Material
    total: Money
    material_of: str


@dataclass(frozen=True, slots=True)
class Inputs:
    """What a quote was made from besides its request, so that it can be made again.

    Attributes:
        on: Day of its prices and of the code's edition, None where that was not kept.
        offcuts: The stored offcuts that were weighed, used or not.
        stored: Kind, id and version of everything stored that the request named.
    """

    on: date | None = None
    offcuts: tuple[Offcut, ...] = ()
    stored: tuple[tuple[str, str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOver:
    """A remnant as the shelf will know it."""

    sku: str
    length_nm: int
    first_picket_nm: int | None
    note: str


@dataclass(frozen=True, slots=True)
class Repriced:
    """A quote whose order was priced again, by what its documents are written from.

    Attributes:
        revises: Id of the quote it revises.
        draft: Whether it was made a draft.
        order: Its order; ``order.material_of`` is the quote that the rest of it comes from.
    """

    id: str
    created_at: datetime
    service_version: str
    series: str
    revision: int
    revises: str
    draft: bool
    order: KeptMaterial


@dataclass(frozen=True, slots=True)
class Written:
    """The documents of a quote."""

    request: bytes
    answer: bytes
    costs: bytes
    inputs: Inputs


class Quotes(Protocol):
    """Where quotes are kept.

    Of a re-priced quote answer, request and costs are empty until they are written.
    """

    def add(self, quote: StoredQuote) -> None:
        """Keep a quote, whole or not at all."""
        ...

    def answer(self, quote_id: str) -> bytes:
        """Give a quote's answer, byte for byte.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def costs(self, quote_id: str) -> bytes:
        """Give what a quote costs its dealer, byte for byte.

        Raises:
            QuoteNotFound: No quote has this id, or it was made before costs were kept.
        """
        ...

    def request(self, quote_id: str) -> bytes:
        """Give what a quote was made from, byte for byte.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def drawing(self, quote_id: str) -> bytes | None:
        """Give a quote's drawing as it was first drawn, None if it was not drawn yet.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def inputs(self, quote_id: str) -> Inputs:
        """Give what a quote was made from besides its request.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def page(self, wanted: "Wanted", after: "Since | None", most: int) -> list["Kept"]:
        """Give quotes that fit, newest first.

        Args:
            wanted: Which quotes.
            after: Where the page before ended, None for the first.
            most: How many.
        """
        ...

    def keep_drawing(self, quote_id: str, drawing: bytes) -> None:
        """Keep a quote's drawing unless one is kept already."""
        ...

    def repriced(self, quote_id: str) -> Repriced | None:
        """Give what a re-priced quote is written from, None for one that was made whole."""
        ...

    def write(self, quote_id: str, whole: Written) -> None:
        """Keep the documents of a re-priced quote unless they are kept already."""
        ...


Since = tuple[datetime, str]  # (made at, id): where a page of quotes begins


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which quotes are asked for; what is empty does not count.

    Attributes:
        day: Tells which quotes have expired.
        states: Of any of these.
        reference, outside_reference: Exactly.
        within: Part of the reference or the customer's name, whatever its case.
        series: Of this series.
        made_from, made_to: Made on one of these days, UTC.
    """

    day: date
    states: frozenset[State] = frozenset()
    reference: str = ""
    outside_reference: str = ""
    within: str = ""
    series: str = ""
    made_from: date | None = None
    made_to: date | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """A quote in a list."""

    created_at: datetime
    reference: str
    outside_reference: str
    customer_name: str
    total: Money
    life: QuoteLife


class QuoteLives(Protocol):
    """What is decided about quotes."""

    def life(self, quote_id: str) -> QuoteLife:
        """Give what is decided so far.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def change(
        self, quote_id: str, step: Callable[[QuoteLife], QuoteLife], at: datetime
    ) -> QuoteLife:
        """Take one step in the life of a quote, with the claims on offcuts that follow from it.

        Step and claims are one transaction: both happen, or neither does. Nobody else takes a
        step of the same quote, or claims the same offcuts, at the same time.

        Raises:
            QuoteNotFound: No quote has this id.
            OffcutTaken: An offcut of the quote is claimed by another one, or gone.
        """
        ...


@dataclass(frozen=True, slots=True)
class Replay:
    """An answer that is given again to the same request."""

    status: int
    headers: Mapping[str, str]
    body: bytes


class Replays(Protocol):
    """Answers by the idempotency keys of their requests."""

    def claim(self, key: str, fingerprint: str, at: datetime) -> str | Replay:
        """Claim a key, or give the answer it has had.

        A claim lasts for a time only, so that a process that dies leaves none behind for long.

        Returns:
            A token for the claim, or the answer.

        Raises:
            KeyUsedOtherwise: It came with another request before.
            StillAtWork: Its first request is not answered yet.
        """
        ...

    def together(self) -> AbstractContextManager[None]:
        """Make what is stored meanwhile, and the answer kept with it, one transaction."""
        ...

    def keep(self, key: str, token: str, replay: Replay) -> None:
        """Keep the answer of a claimed key.

        Raises:
            StillAtWork: The claim ran out and another one took it over.
        """
        ...

    def drop(self, key: str, token: str) -> None:
        """Give a claim up: the request was refused, and may be sent again put right."""
        ...


@dataclass(frozen=True, slots=True)
class StoredOffcut:
    """An offcut on hand.

    Attributes:
        id: UUID, as text.
        sku: Part it is a remnant of, or a stock length of that part.
        length_nm: Between clean ends. [nm]
        first_picket_nm: From its start to its first punched place; None on plain stock. [nm]
        value: What using it up counts as.
        from_quote: Quote that left it over, "" where it was entered.
        held_by: Quote that claims it, "" where it is free.
        used: Whether that quote is sawn.
    """

    id: str
    sku: str
    length_nm: int
    first_picket_nm: int | None
    value: Decimal
    note: str
    from_quote: str = ""
    held_by: str = ""
    used: bool = False

    @property
    def tag(self) -> str:
        """Name what can be seen of it that changes."""
        return tag_of_state(self.held_by, self.used)


Place = tuple[str, int, str]  # (SKU, length [nm], id): where a page of offcuts begins


class Shelf(Protocol):
    """Where offcuts are kept. A day tells which claims have run out."""

    def add(self, offcut: StoredOffcut, at: datetime) -> None:
        """Put an offcut on the shelf."""
        ...

    def offcut(self, offcut_id: str, day: date) -> StoredOffcut:
        """Give one offcut.

        Raises:
            OffcutNotFound: No offcut has this id.
        """
        ...

    def page(self, sku: str, after: Place | None, most: int, day: date) -> list[StoredOffcut]:
        """Give offcuts by SKU, length and id, used ones left out.

        Args:
            sku: Only of this SKU, "" for all.
            after: Where the page before ended, None for the first.
            most: How many.
            day: The day.
        """
        ...

    def free(
        self, skus: Sequence[str], most: int, day: date, also_of: Sequence[str] = ()
    ) -> list[StoredOffcut]:
        """Give the longest offcuts of some SKUs that no quote but these claims."""
        ...

    def remove(self, offcut_id: str, at: datetime, matches: Matches | None = None) -> None:
        """Take an offcut off the shelf.

        Raises:
            OffcutNotFound: No offcut has this id.
            StaleState: It is not as it was seen.
            OffcutTaken: A quote claims it, or has used it.
        """
        ...

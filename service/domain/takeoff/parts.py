"""The parts of a railing system as rules in data: what is ordered, per what, and how many."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from service.domain.cutting.demand import StockLength


@dataclass(frozen=True, slots=True)
class PartRule:
    """One part and the elements that need it.

    A dealer adds a part by adding a rule; no code changes.

    Attributes:
        sku: What is ordered (a stock rule orders its stock's SKUs). Rules that share a SKU add
            up before packs are rounded; they must agree in everything but ``per``, ``where``,
            ``quantity``, ``per_length`` and ``per_area``.
        description: As printed on the quote.
        category: "post", "rail", "picket", "connector", "fastener", "trim", "sealant", ... A part
            of category "post", "rail", "picket", "cable" or "panel" is the thing itself.
        per: Kind of element that needs it: see ``kinds.KINDS``.
        where: Attributes the element must have; a tuple lists the values allowed.
        quantity: How many (or how much) for each element.
        per_length: True multiplies by the element's length in metres instead of counting it.
        per_area: True multiplies by its area in square metres.
        unit_of_measure: UN/ECE Recommendation 20 code of the quantity, such as "C62" or "MTR".
        pack_size: Supplied in packs of so many; the order is rounded up to whole packs.
        stock: Lengths it is cut from; the order then follows from the cut plan.
    """

    sku: str
    description: str
    category: str
    per: str
    quantity: Decimal
    unit_of_measure: str
    where: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    per_length: bool = False
    pack_size: int = 1
    stock: tuple[StockLength, ...] = ()
    per_area: bool = False


@dataclass(frozen=True, slots=True)
class LabourRule:
    """Time for a task, per element it is done on.

    Attributes:
        task: As printed on the quote.
        minutes: For each element (or each metre with ``per_length``, each square metre with
            ``per_area``). [min]
    """

    task: str
    per: str
    minutes: Decimal
    where: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    per_length: bool = False
    per_area: bool = False


@dataclass(frozen=True, slots=True)
class Shop:
    """How the shop saws: kerf of the blade and trim at factory ends [nm]."""

    kerf_nm: int
    end_trim_nm: int = 0


@dataclass(frozen=True, slots=True)
class PartsList:
    """Every rule of one system."""

    parts: tuple[PartRule, ...]
    labour: tuple[LabourRule, ...]
    shop: Shop


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the take-off.

    Attributes:
        needed: Exact need, before packs. In the unit of measure.
        ordered: Whole packs or whole stock lengths, never less than needed.
        elements: Names of the elements that need it, in order.
        length_nm: Length as supplied, of a stock length; None for other parts. [nm]
    """

    sku: str
    description: str
    category: str
    needed: Decimal
    ordered: Decimal
    unit_of_measure: str
    pack_size: int
    elements: tuple[str, ...]
    length_nm: int | None = None


@dataclass(frozen=True, slots=True)
class LabourItem:
    """Time for one task over the whole job.

    Attributes:
        minutes: Exact sum. [min]
    """

    task: str
    minutes: Decimal
    elements: tuple[str, ...]

    @property
    def hours(self) -> Decimal:
        """Hours as they are charged, rounded half up to 0.01 h after summing [h].

        Example:
            >>> LabourItem("Set posts", Decimal(100), ("P1",)).hours
            Decimal('1.67')
        """
        # From the exact ratio: minutes / 60 would round once in the division and once more here.
        minutes, parts = self.minutes.as_integer_ratio()
        hundredths = (2 * 100 * minutes + 60 * parts) // (2 * 60 * parts)
        return Decimal(hundredths).scaleb(-2)

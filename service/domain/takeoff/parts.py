"""The parts of a railing system as rules in data: what is ordered, per what, and how many."""

from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from fractions import Fraction

from service.domain.cutting.demand import StockLength
from service.domain.lengths import METRE
from service.domain.record import record
from service.domain.takeoff.beads import Bead


@record(frozen=True, slots=True)
class Band:
    """Numbers from one up to another, the upper one left out, so that bands meet without overlap.

    Attributes:
        least: None for no lower end. [nm], or thousandths of a degree
        below: None for no upper end. [nm], or thousandths of a degree

    Example:
        >>> 30 in Band(30, 60), 60 in Band(30, 60)
        (True, False)
    """

    least: int | None = None
    below: int | None = None

    def __contains__(self, number: int) -> bool:
        """Tell whether a number lies in the band."""
        at_least = self.least is None or number >= self.least
        return at_least and (self.below is None or number < self.below)


# The words an attribute may have, or the band a measure may lie in.
Condition = tuple[str, ...] | Band


@record(frozen=True, slots=True)
class Weight:
    """What one unit of measure of a part weighs, or one metre of a part cut from stock.

    Attributes:
        kg: Exact. [kg] or [kg/m]
        per_metre: True for [kg/m].
    """

    kg: Fraction
    per_metre: bool = False


@record(frozen=True, slots=True)
class Packing:
    """How a part is shipped; what its maker does not say is None.

    Attributes:
        weight: Of a unit of measure or a metre.
        length_nm: Length of its package. [nm]
        holds: How many units of measure go into one package.
    """

    weight: Weight | None = None
    length_nm: int | None = None
    holds: int | None = None


@record(frozen=True, slots=True)
class PartRule:
    """One part and the elements that need it.

    A dealer adds a part by adding a rule; no code changes.

    Attributes:
        sku: What is ordered (a stock rule orders its stock's SKUs). Rules that share a SKU add
            up before packs are rounded; they must agree in everything but ``per``, ``where``,
            ``quantity``, ``per_length``, ``along``, ``per_area``, ``bead`` and ``waste``.
        description: As printed on the quote.
        category: "post", "rail", "picket", "connector", "fastener", "trim", "sealant", ... A part
            of category "post", "rail", "picket", "cable" or "panel" is the thing itself.
        per: Kind of element that needs it: see ``kinds.KINDS``.
        where: Attributes the element must have, a tuple listing the words allowed, and measures
            with the band they must lie in.
        quantity: How many (or how much) for each element.
        per_length: True multiplies by a length of the element in metres instead of counting it.
        along: Which length that is, "length" or another measure of its kind.
        per_area: True multiplies by its area in square metres.
        bead: Cross-section of a bead of so many metres; ``quantity`` is then the number of beads
            and the need is their volume, in MLT or LTR.
        waste: Part of the need that is lost in use, such as 0.05; none of a part cut from stock.
        unit_of_measure: UN/ECE Recommendation 20 code of the quantity, such as "C62" or "MTR".
        pack_size: Supplied in packs of so many; the order is rounded up to whole packs.
        stock: Lengths it is cut from; the order then follows from the cut plan.
        minimum: Fewest that are sold at once, of each stock length on its own.
        packing: How it is shipped.
    """

    sku: str
    description: str
    category: str
    per: str
    quantity: Decimal
    unit_of_measure: str
    where: Mapping[str, Condition] = field(default_factory=dict)
    per_length: bool = False
    pack_size: int = 1
    stock: tuple[StockLength, ...] = ()
    per_area: bool = False
    along: str = "length"
    bead: Bead | None = None
    waste: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    packing: Packing = Packing()


@record(frozen=True, slots=True)
class LabourRule:
    """Time for a task, per element it is done on.

    Attributes:
        task: As printed on the quote.
        minutes: For each element (or each metre with ``per_length``, each square metre with
            ``per_area``). [min]
        along: Which length of the element ``per_length`` means.
        category: Kind of work, which a labour rate may name.
    """

    task: str
    per: str
    minutes: Decimal
    where: Mapping[str, Condition] = field(default_factory=dict)
    per_length: bool = False
    per_area: bool = False
    along: str = "length"
    category: str = ""


@record(frozen=True, slots=True)
class Shop:
    """How the shop saws: kerf of the blade, trim at factory ends, least remnant kept [nm]."""

    kerf_nm: int
    end_trim_nm: int = 0
    least_remnant_nm: int = 0


@record(frozen=True, slots=True)
class PartsList:
    """Every rule of one system."""

    parts: tuple[PartRule, ...]
    labour: tuple[LabourRule, ...]
    shop: Shop


@record(frozen=True, slots=True)
class Item:
    """One line of the take-off.

    Attributes:
        needed: Exact need, before waste and packs. In the unit of measure.
        ordered: Whole packs or whole stock lengths, never less than needed with its waste.
        elements: Names of the elements that need it, in order.
        length_nm: Length as supplied, of a stock length; None for other parts. [nm]
        waste: What is lost in use, besides the need. In the unit of measure.
        minimum: Fewest that are sold at once.
        packing: How it is shipped.
        piece_nm: Longest element that the part itself is, as a picket; None if that is not a
            matter of pieces. [nm]
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
    waste: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    packing: Packing = Packing()
    piece_nm: int | None = None

    @property
    def weight_kg(self) -> Fraction | None:
        """Weight of all that is ordered, None if the part states none. [kg]"""
        weight = self.packing.weight
        if weight is None:
            return None
        ordered, parts = self.ordered.as_integer_ratio()
        kg, of = ordered * weight.kg.numerator, parts * weight.kg.denominator
        if weight.per_metre and self.length_nm is not None:
            kg, of = kg * self.length_nm, of * METRE
        return Fraction(kg, of)

    @property
    def package_nm(self) -> int | None:
        """Length of its longest package, as far as it is known. [nm]"""
        return self.packing.length_nm or self.length_nm or self.piece_nm

    @property
    def packages(self) -> int | None:
        """How many packages it makes, None if the part does not say what one holds."""
        holds = self.packing.holds
        if holds is None:
            return None
        ordered, parts = self.ordered.as_integer_ratio()
        return -(-ordered // (parts * holds))


@record(frozen=True, slots=True)
class LabourItem:
    """Time for one task over the whole job.

    Attributes:
        minutes: Exact sum. [min]
        category: Kind of work, "" where the rules name none.
    """

    task: str
    minutes: Decimal
    elements: tuple[str, ...]
    category: str = ""

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

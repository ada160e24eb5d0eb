"""What a rule may ask and what it needs: the check of its words, and exact amounts."""

from collections.abc import Iterable, Mapping
from decimal import Context, Decimal
from functools import reduce

from service.domain.errors import QuotingError, UnknownReference
from service.domain.takeoff.beads import VOLUMES
from service.domain.takeoff.kinds import KINDS, LENGTH, Kind, is_angle
from service.domain.takeoff.matching import Selection
from service.domain.takeoff.parts import Band, LabourRule, PartRule

Rule = PartRule | LabourRule

NANOMETRES_PER_METRE_LOG10 = 9

# Wide enough that a quantity and a sum of lengths multiply without rounding.
_EXACT = Context(prec=100)
_NOTHING = Decimal(0)


def need(rule: PartRule | LabourRule, each: Decimal, selected: Selection) -> Decimal:
    """Give what a rule needs, exactly: by the element, the metre or square metre, or the bead.

    Args:
        rule: The rule.
        each: Its quantity or minutes, for each element, metre or square metre.
        selected: What it counts.
    """
    if rule.per_area:
        area = _EXACT.multiply(each, Decimal(selected.area_nm2))
        return _EXACT.scaleb(area, -2 * NANOMETRES_PER_METRE_LOG10)
    if not rule.per_length:
        return _EXACT.multiply(each, Decimal(selected.count))
    length = _EXACT.multiply(each, Decimal(selected.total_nm(rule.along)))
    if isinstance(rule, PartRule) and rule.bead:
        volume = _EXACT.multiply(length, rule.bead.section_nm2)
        return _EXACT.scaleb(volume, -VOLUMES[rule.unit_of_measure])
    return _EXACT.scaleb(length, -NANOMETRES_PER_METRE_LOG10)


def times(amount: Decimal, factor: Decimal) -> Decimal:
    """Multiply without rounding."""
    return _EXACT.multiply(amount, factor)


def exact_sum(amounts: Iterable[Decimal]) -> Decimal:
    """Add amounts without rounding."""
    return reduce(_EXACT.add, amounts, _NOTHING)


class placed:  # noqa: N801 - reads as a word in a with statement
    """Give refusals, which place themselves within a rule, the rule's place in the request."""

    __slots__ = ("rule", "rules")

    def __init__(self, rules: Iterable[Rule], rule: Rule) -> None:
        self.rules = rules
        self.rule = rule

    def __enter__(self) -> None:
        """Begin."""

    def __exit__(
        self, kind: type[BaseException] | None, refusal: BaseException | None, trace: object
    ) -> None:
        """Place a refusal."""
        if isinstance(refusal, QuotingError):
            listed = list(self.rules)
            name = "parts" if isinstance(self.rule, PartRule) else "labour"
            refusal.where = ("system", name, listed.index(self.rule), *refusal.where)


def check_words(rule: Rule, name: str, stocks: Mapping[str, frozenset[str]]) -> None:
    """Refuse a rule that names a kind, an attribute or a value that no layout can have.

    Such a rule would silently order nothing.

    Args:
        rule: Part or labour rule.
        name: SKU or task, for the message.
        stocks: Names of the system's post and panel stock by kind of element, the values of their
            attribute "stock".

    Raises:
        UnknownReference: A word is unknown; the message names the rule and what is known, the
            place is within the rule.
    """
    kind = KINDS.get(rule.per)
    if kind is None:
        raise _unknown(name, f"counts per {rule.per!r}, which is no kind of element", KINDS, "per")
    _check_measured(rule, name, kind)
    for asked, allowed in rule.where.items():
        if isinstance(allowed, Band):
            if asked not in kind.measures:
                what = f"asks for a band of {asked!r}, which is no measure of a {rule.per}"
                raise _unknown(name, what, kind.measures, "where", asked)
            _refuse_empty(allowed, name, asked)
            continue
        if asked not in kind.attributes:
            what = f"asks for {asked!r}, which a {rule.per} has not"
            raise _unknown(name, what, kind.attributes, "where", asked)
        values = kind.attributes[asked] or tuple(sorted(stocks[rule.per]))
        for value in allowed:
            if value not in values:
                what = f"asks for {asked} {value!r}, which no {rule.per} has"
                raise _unknown(name, what, values, "where", asked)


def _refuse_empty(band: Band, name: str, measure: str) -> None:
    if band.least is not None and band.below is not None and band.least >= band.below:
        raise UnknownReference(
            f"The rule for {name} asks for a {measure} that ends before it begins.",
            element=name,
            where=("where", measure),
            advice="Send a from that is less than its to; the to itself is left out.",
        )


def _check_measured(rule: Rule, name: str, kind: Kind) -> None:
    if rule.per_length and (rule.along not in kind.measures or is_angle(rule.along)):
        what = "counts by length" if rule.along == LENGTH else f"counts along {rule.along!r}"
        measured = [measure for measure in kind.measures if not is_angle(measure)]
        measured = measured or [known for known, spec in KINDS.items() if spec.has_length]
        raise _unknown(name, f"{what}, and a {rule.per} has none", measured, "per_length")
    if rule.per_area and not kind.has_area:
        measured = [known for known, spec in KINDS.items() if spec.has_area]
        raise _unknown(name, f"counts by area, and a {rule.per} has none", measured, "per_area")


def _unknown(name: str, what: str, known: Iterable[str], *where: str) -> UnknownReference:
    choices = ", ".join(known)
    return UnknownReference(
        f"The rule for {name} {what}.",
        element=name,
        where=where,
        advice=f"Use one of: {choices}." if choices else "Leave the condition out.",
    )

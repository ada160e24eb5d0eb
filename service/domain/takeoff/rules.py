"""Which elements a rule counts: the check of its words, and a fast match by attributes.

Elements are grouped once by kind and attribute values, so a rule is matched against a dozen
groups rather than several hundred elements.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Context, Decimal

from service.domain.errors import QuotingError, UnknownReference
from service.domain.takeoff.kinds import KINDS, Element
from service.domain.takeoff.parts import LabourRule, PartRule

NANOMETRES_PER_METRE_LOG10 = 9

# Wide enough that a quantity and a sum of lengths multiply without rounding.
_EXACT = Context(prec=100)


@dataclass(frozen=True, slots=True)
class Group:
    """Elements of one kind with the same attributes.

    Attributes:
        count: Sum of the elements' counts.
        length_nm: Sum of the elements' lengths times counts. [nm]
        area_nm2: Sum of their areas times counts. [nm2]
        ranks: Place of each element in the layout's order.
        names: Name of each element.
    """

    kind: str
    attributes: Mapping[str, str]
    elements: tuple[Element, ...]
    count: int
    length_nm: int
    ranks: tuple[int, ...]
    names: tuple[str, ...]
    area_nm2: int = 0


@dataclass(frozen=True, slots=True)
class Groups:
    """All groups of a job, by kind."""

    by_kind: Mapping[str, tuple[Group, ...]]

    def matching(self, per: str, where: Mapping[str, tuple[str, ...]]) -> list[Group]:
        """Give the groups of a kind that have one of the allowed values of every attribute."""
        return [
            group
            for group in self.by_kind.get(per, ())
            if all(group.attributes[name] in allowed for name, allowed in where.items())
        ]


def group(elements: Iterable[Element]) -> Groups:
    """Group elements by kind and attributes, in the order they first appear."""
    members: dict[tuple[str, ...], list[tuple[int, Element]]] = {}
    for rank, element in enumerate(elements):
        signature = (element.kind, *element.attributes.values())
        members.setdefault(signature, []).append((rank, element))
    by_kind: dict[str, list[Group]] = {}
    for ranked in members.values():
        first = ranked[0][1]
        by_kind.setdefault(first.kind, []).append(
            Group(
                kind=first.kind,
                attributes=first.attributes,
                elements=tuple(element for _, element in ranked),
                count=sum(element.count for _, element in ranked),
                length_nm=sum(element.count * (element.length_nm or 0) for _, element in ranked),
                ranks=tuple(rank for rank, _ in ranked),
                names=tuple(element.name for _, element in ranked),
                area_nm2=sum(element.count * (element.area_nm2 or 0) for _, element in ranked),
            )
        )
    return Groups({kind: tuple(groups) for kind, groups in by_kind.items()})


def in_order(groups: Sequence[Group]) -> tuple[Element, ...]:
    """Give the elements of several groups of one kind in the layout's order."""
    if len(groups) == 1:
        return groups[0].elements
    ranked = [pair for g in groups for pair in zip(g.ranks, g.elements, strict=True)]
    return tuple(element for _, element in sorted(ranked, key=lambda pair: pair[0]))


def names_in_order(groups: Sequence[Group]) -> tuple[str, ...]:
    """Give the names of the elements of several groups of one kind in the layout's order."""
    if len(groups) == 1:
        return groups[0].names
    return tuple(element.name for element in in_order(groups))


def need(
    quantity: Decimal, per_length: bool, groups: Iterable[Group], *, per_area: bool = False
) -> Decimal:
    """Give quantity x count, or quantity x metres or square metres, exactly.

    Args:
        quantity: For each element, for each metre with ``per_length``, for each square metre with
            ``per_area``.
        per_length: True multiplies by length.
        groups: The groups the rule matches.
        per_area: True multiplies by area.
    """
    if per_area:
        area = Decimal(sum(g.area_nm2 for g in groups))
        return _EXACT.scaleb(_EXACT.multiply(quantity, area), -2 * NANOMETRES_PER_METRE_LOG10)
    if not per_length:
        return _EXACT.multiply(quantity, Decimal(sum(g.count for g in groups)))
    nanometres = Decimal(sum(g.length_nm for g in groups))
    return _EXACT.scaleb(_EXACT.multiply(quantity, nanometres), -NANOMETRES_PER_METRE_LOG10)


def exact_sum(amounts: Iterable[Decimal]) -> Decimal:
    """Add amounts without rounding."""
    total = Decimal(0)
    for amount in amounts:
        total = _EXACT.add(total, amount)
    return total


@contextmanager
def placed(rules: Iterable[PartRule | LabourRule], rule: PartRule | LabourRule) -> Iterator[None]:
    """Give refusals, which place themselves within a rule, the rule's place in the request."""
    try:
        yield
    except QuotingError as refusal:
        listed = list(rules)
        name = "parts" if isinstance(rule, PartRule) else "labour"
        refusal.where = ("system", name, listed.index(rule), *refusal.where)
        raise


def check_words(
    rule: PartRule | LabourRule, name: str, stocks: Mapping[str, frozenset[str]]
) -> None:
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
    if rule.per_length and not kind.has_length:
        measured = [known for known, spec in KINDS.items() if spec.has_length]
        raise _unknown(name, f"counts by length, and a {rule.per} has none", measured, "per_length")
    if rule.per_area and not kind.has_area:
        measured = [known for known, spec in KINDS.items() if spec.has_area]
        raise _unknown(name, f"counts by area, and a {rule.per} has none", measured, "per_area")
    for attribute, allowed in rule.where.items():
        if attribute not in kind.attributes:
            raise _unknown(
                name,
                f"asks for {attribute!r}, which a {rule.per} has not",
                kind.attributes,
                "where",
                attribute,
            )
        values = kind.attributes[attribute] or tuple(sorted(stocks[rule.per]))
        for value in allowed:
            if value not in values:
                raise _unknown(
                    name,
                    f"asks for {attribute} {value!r}, which no {rule.per} has",
                    values,
                    "where",
                    attribute,
                )


def _unknown(name: str, what: str, known: Iterable[str], *where: str) -> UnknownReference:
    choices = ", ".join(known)
    return UnknownReference(
        f"The rule for {name} {what}.",
        element=name,
        where=where,
        advice=f"Use one of: {choices}." if choices else "Leave the condition out.",
    )

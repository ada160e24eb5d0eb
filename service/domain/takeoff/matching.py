"""Which elements a rule counts: a fast match by attributes, then by measures.

Elements are grouped once by kind and attribute values, so a rule is matched against a dozen
groups rather than several hundred elements, and each condition is matched once however many
rules ask it.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain

from service.domain.takeoff.kinds import Element
from service.domain.takeoff.parts import Band, Condition

Ranked = tuple[int, Element]


class Selection:
    """Elements of one kind in the layout's order, with their sums.

    Attributes:
        elements: What is selected.
        ranks: Place of each element in the layout's order.
        names: Name of each element.
        count: Sum of the elements' counts.
    """

    def __init__(self, ranked: Sequence[Ranked]) -> None:
        self.ranks = tuple([rank for rank, _ in ranked])
        self.elements = tuple([element for _, element in ranked])
        self.names = tuple([element.name for element in self.elements])
        self.count = sum([element.count for element in self.elements])

    @property
    def area_nm2(self) -> int:
        """Sum of the elements' areas times counts. [nm2]"""
        return sum(element.count * (element.area_nm2 or 0) for element in self.elements)

    def total_nm(self, along: str) -> int:
        """Sum a length over the elements, times their counts; unknown ones are left out. [nm]"""
        return sum(element.count * (element.measure(along) or 0) for element in self.elements)

    def longest_nm(self) -> int:
        """Give the longest of them, of panels the longer side. [nm]"""
        lengths = [element.length_nm or 0 for element in self.elements]
        heights = [e.others["height"] for e in self.elements if e.others and "height" in e.others]
        return max(lengths + heights, default=0)

    def without(self, along: str) -> tuple[str, ...]:
        """Name the elements whose measure is not known."""
        return tuple(element.name for element in self.elements if element.measure(along) is None)


class Group:
    """Elements of one kind with the same attributes, in the layout's order.

    Attributes:
        attributes: Of every one of them.
        ranked: Each with its place in the layout's order.
    """

    __slots__ = ("attributes", "ranked")

    def __init__(self, attributes: Mapping[str, str]) -> None:
        self.attributes = attributes
        self.ranked: list[Ranked] = []


class Groups:
    """All groups of a job, by kind, in the order they first appear."""

    def __init__(self, elements: Iterable[Element]) -> None:
        self.by_kind: dict[str, list[Group]] = {}
        self._selected: dict[tuple[object, ...], Selection] = {}
        found: dict[tuple[str, ...], Group] = {}
        for rank, element in enumerate(elements):
            signature = (element.kind, *element.attributes.values())
            group = found.get(signature)
            if group is None:
                group = found[signature] = Group(element.attributes)
                self.by_kind.setdefault(element.kind, []).append(group)
            group.ranked.append((rank, element))

    def matching(self, per: str, where: Mapping[str, Condition]) -> Selection:
        """Select the elements of a kind that meet every condition."""
        key = (per, *where.items())
        selected = self._selected.get(key)
        if selected is None:
            selected = self._selected[key] = Selection(self._ranked(per, where))
        return selected

    def _ranked(self, per: str, where: Mapping[str, Condition]) -> Sequence[Ranked]:
        groups: Sequence[Group] = self.by_kind.get(per, ())
        bands: list[tuple[str, Band]] = []
        for name, asked in where.items():
            if isinstance(asked, Band):
                bands.append((name, asked))
            else:
                groups = [group for group in groups if group.attributes[name] in asked]
        if len(groups) == 1:
            ranked = groups[0].ranked
        else:
            ranked = sorted(chain.from_iterable([group.ranked for group in groups]))
        if not bands:
            return ranked
        return [pair for pair in ranked if all(_lies(pair[1], name, band) for name, band in bands)]


def _lies(element: Element, measure: str, band: Band) -> bool:
    size = element.measure(measure)
    return size is not None and size in band

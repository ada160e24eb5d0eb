"""What a measure takes from a layout: one value for one element, and what the element is like."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field

from service.domain.compliance.exact import Measured
from service.domain.compliance.findings import Dimension
from service.domain.compliance.inspection import Attribute, Inspection
from service.domain.record import record


@record(frozen=True, slots=True)
class Measurement:
    """One value taken from one element of a layout.

    Attributes:
        element: Name of the section, post, stair or edge, or "deck".
        value: In nanometres or a count, exact; None if the layout cannot say.
        attributes: What the element is like, for the conditions of clauses: words, numbers in
            the same bases, or None where it is not known.
        note: What the reader should know.
        present: For needs: whether what may be needed stands there; None if that is not known.
    """

    element: str
    value: Measured | None
    attributes: Mapping[str, Attribute] = field(default_factory=dict)
    note: str = ""
    present: bool | None = None


@record(frozen=True, slots=True)
class Measure:
    """A way of measuring a layout.

    Attributes:
        take: Gives the measurements, in the layout's order; none if it covers no element.
        attributes: Names every measurement carries; clauses may set conditions on these.
        dimensioned: False where it never gives a value, so that a clause must say what is missing.
        worst_of: True where one element gives several values, of which a finding shows the worst.
        of: What its values are, in the bases of that dimension; None where they only say whether
            something is there.
    """

    take: Callable[[Inspection], Iterable[Measurement]]
    attributes: frozenset[str] = frozenset()
    dimensioned: bool = True
    worst_of: bool = False
    of: Dimension | None = Dimension.LENGTH

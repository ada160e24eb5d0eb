"""The drop beside an open edge, as far out as a code looks for it.

Codes that name a reach ask for the greatest drop at any point within it. Falls taped outward from
the edge give that drop, the ground between two of them taken straight; a single fall height stands
for all of it. Codes without a reach take the drop at the edge.
"""

from collections.abc import Iterable
from fractions import Fraction

from service.domain.compliance.exact import Measured, Span
from service.domain.layout.deck import Fall
from service.domain.record import record

AS_GIVEN = "Fall height as given for the edge."
NOT_TAPED = "The fall height was not taped."


@record(frozen=True, slots=True)
class Drop:
    """What a code finds beside an edge.

    Attributes:
        value: The drop that decides; a span where the tapes stop short of the reach. [nm]
        note: Which tapes it comes from.
    """

    value: Measured | None
    note: str


@record(frozen=True, slots=True)
class Ground:
    """The ground beside one edge.

    Attributes:
        fall_nm: The fall height given for the edge, None if none was.
        falls: Single falls by their distance from the edge; that given for the edge opens them
            where none was taped at the edge itself.
        given: Where the fall height of the edge comes from.
    """

    fall_nm: int | None
    falls: tuple[Fall, ...] = ()
    given: str = AS_GIVEN

    def drop(self, reach_nm: int | None) -> Drop:
        """Find the drop within a reach, or at the edge where there is none. [nm]

        Example:
            Ground that falls evenly from 20 in at the edge to 40 in four feet out:

            >>> INCH = 25_400_000
            >>> ground = Ground(None, (Fall(0, 20 * INCH), Fall(48 * INCH, 40 * INCH)))
            >>> ground.drop(36 * INCH).value == 35 * INCH
            True
        """
        if not self.falls:
            return Drop(self.fall_nm, NOT_TAPED if self.fall_nm is None else self.given)
        if reach_nm is None:
            return Drop(self.falls[0].fall_nm, "Fall taped at, or nearest to, the edge.")
        known = self._within(reach_nm)
        if not known:
            return Drop(None, "No fall was taped within the reach.")
        deepest, place = max(known, key=lambda one: one[0])
        if self.falls[-1].out_nm < reach_nm:
            short = f"At least the fall at {place}; farther out within the reach none was taped."
            return Drop(Span(deepest), short)
        return Drop(deepest, f"Greatest fall within the reach, at {place}.")

    def deepest_out_nm(self, reach_nm: int) -> int | None:
        """Give how far out the greatest fall of all was taped; None if not taped to the reach."""
        if not self.falls or self.falls[-1].out_nm < reach_nm:
            return None
        return max(self.falls, key=lambda fall: (fall.fall_nm, -fall.out_nm)).out_nm

    def _within(self, reach_nm: int) -> list[tuple[int | Fraction, str]]:
        """Give the falls within a reach, and that at its end between two tapes; with names."""
        count = len(self.falls)
        found: list[tuple[int | Fraction, str]] = [
            (fall.fall_nm, f"tape {number} of {count} from the edge")
            for number, fall in enumerate(self.falls, 1)
            if fall.out_nm <= reach_nm
        ]
        if 0 < len(found) < count:
            number = len(found)
            near, far = self.falls[number - 1 : number + 1]
            part = Fraction(reach_nm - near.out_nm, far.out_nm - near.out_nm)
            at_end = near.fall_nm + part * (far.fall_nm - near.fall_nm)
            place = f"the end of the reach, straight between tapes {number} and {number + 1}"
            found.append((at_end, place))
        return found


def ground_of(fall_nm: int | None, taped: Iterable[Fall], given: str = AS_GIVEN) -> Ground:
    """Give the ground beside an edge from its fall height and the falls taped outward from it."""
    falls = sorted(taped)
    if falls and falls[0].out_nm > 0 and fall_nm is not None:
        falls.insert(0, Fall(0, fall_nm))
    return Ground(fall_nm, tuple(falls), given)

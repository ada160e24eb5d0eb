"""Sealant by the bead: its cross-section times its length is what the cartridges must hold.

Source: a rectangle is width times depth, a fillet of leg a is a**2 / 2, a round bead of diameter
d is pi d**2 / 4; the yields that makers print for a cartridge follow from them, in
tests/published/test_sealant_yields.py.
"""

from dataclasses import dataclass
from decimal import Context, Decimal
from enum import StrEnum

# From memory, checked against math.pi to its last digit; enough for nanometres of any deck.
_PI = Decimal("3.14159265358979323846264338327950288")
_EXACT = Context(prec=100)

# Volume of one unit, as a power of ten of cubic nanometres.
VOLUMES = {"MLT": 21, "LTR": 24}


class BeadShape(StrEnum):
    """Cross-section of a bead."""

    RECTANGLE = "rectangle"
    FILLET = "fillet"  # in a right-angled corner, tooled flat
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class Bead:
    """A bead of sealant.

    Attributes:
        width_nm: Of a fillet its leg, of a round bead its diameter. [nm]
        depth_nm: Of a rectangle; of other shapes it is not asked. [nm]
    """

    shape: BeadShape
    width_nm: int
    depth_nm: int = 0

    @property
    def section_nm2(self) -> Decimal:
        """Area of the cross-section. [nm2]

        Example:
            >>> Bead(BeadShape.FILLET, 6_000_000).section_nm2  # 6 mm: 18 mm2
            Decimal('18000000000000')
        """
        width = Decimal(self.width_nm)
        if self.shape is BeadShape.RECTANGLE:
            return _EXACT.multiply(width, Decimal(self.depth_nm))
        square = _EXACT.multiply(width, width)
        if self.shape is BeadShape.FILLET:
            return _EXACT.divide(square, Decimal(2))
        return _EXACT.divide(_EXACT.multiply(_PI, square), Decimal(4))

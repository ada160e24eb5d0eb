"""Lengths in advice, rounded so that who follows it is not refused again."""

from service.domain.lengths import MILLIMETRE

TENTH_NM = MILLIMETRE // 10


def at_least(length_nm: int) -> str:
    """Print a least length, rounded up to a tenth of a millimetre.

    Example:
        >>> at_least(50_800_000), at_least(1_111_250_000)
        ('50.8 mm', '1111.3 mm')
    """
    tenths = -(-length_nm // TENTH_NM)
    return f"{tenths // 10}.{tenths % 10} mm"


def at_most(length_nm: int) -> str:
    """Print a greatest length, rounded down to a tenth of a millimetre.

    Example:
        >>> at_most(793_750_000)
        '793.7 mm'
    """
    tenths = length_nm // TENTH_NM
    return f"{tenths // 10}.{tenths % 10} mm"

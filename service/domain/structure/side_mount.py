"""Posts fixed to the side of a rim by two rows of bolts.

Units: N, mm. Statics, moments about the lower bolt; the rim is taken as rigid, so whether it is
held against rotation is asked for.
"""

from dataclasses import dataclass

# Wood posts on a 2x8 rim that was free to roll, wet southern pine: mean load at failure of the
# through-bolted and of the lag-screwed ones, against a target of 500 lb (2.5 times 200 lb).
FREE_RIM_BOLTED_N = 237 * 4.4482216152605
FREE_RIM_LAGGED_N = 178 * 4.4482216152605
FREE_RIM_SOURCE = (
    "Tests at Virginia Tech reported in JLC, Strong Rail-Post Connections for Wooden Decks"
)


@dataclass(frozen=True, slots=True)
class Couple:
    """Forces of the two rows. [N]"""

    upper_tension_n: float
    lower_compression_n: float


def two_bolts(load_n: float, above_mm: float, spacing_mm: float) -> Couple:
    """Give the pull on the upper row and the push on the lower, T = P (a + s) / s, C = P a / s.

    Args:
        load_n: At the top of the post, outward. [N]
        above_mm: From the load down to the upper row, a. [mm]
        spacing_mm: Between the rows, s. [mm]

    Example:
        >>> two_bolts(200, 39, 5)
        Couple(upper_tension_n=1760.0, lower_compression_n=1560.0)
    """
    return Couple(
        load_n * (above_mm + spacing_mm) / spacing_mm,
        load_n * above_mm / spacing_mm,
    )

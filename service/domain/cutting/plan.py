"""What the saw is told: bars with located cuts, what they cost and how good that is."""

from decimal import Decimal
from typing import Literal

from service.domain.record import record

Goal = Literal["cost", "bars", "remnant", "set_ups"]

# What is wanted of a plan, first things first: the least cost, the fewest bars, the longest
# remnant on one bar, the fewest set-ups.
GOALS: tuple[Goal, ...] = ("cost", "bars", "remnant", "set_ups")


@record(frozen=True, slots=True)
class Cut:
    """One piece on a bar.

    Attributes:
        piece: Name of the piece.
        start_nm: From the bar's start to the piece's start. [nm]
        length_nm: Length of the piece. [nm]
        first_picket: 1-based number of the bar's punched place that becomes the piece's first
            picket; None on plain stock.
    """

    piece: str
    start_nm: int
    length_nm: int
    first_picket: int | None = None


@record(frozen=True, slots=True)
class Remnant:
    """What is left of a bar and worth keeping.

    Attributes:
        name: Unique within the plan, such as "top rail remnant 1".
        length_nm: Between clean ends. [nm]
        first_picket_nm: From its start to its first punched place; None on plain stock. [nm]
    """

    name: str
    length_nm: int
    first_picket_nm: int | None = None


@record(frozen=True, slots=True)
class Bar:
    """One bought length and its cuts in order.

    Attributes:
        sku: What is bought, or taken from the offcuts on hand.
        length_nm: As supplied, before trimming. [nm]
        remnant_nm: What is left between the last cut and the trim of the far end. [nm]
        kerf_nm: What the saw takes on this bar, besides the trims: a kerf after each piece, less
            on the last where the piece ends nearer to the usable end than a kerf. [nm]
        drop_nm: Cut away before pieces so that their pickets fall on punched places. [nm]
        trim_nm: Cut away at both ends together. [nm]
        offcut: True for a remnant on hand.
        shared_nm: What pieces overlap because neighbours share a slanted cut; pieces, kerf, drop,
            trim and remnant add up to the bar and this. [nm]
        reusable: The remnant, where it is worth keeping.
    """

    sku: str
    length_nm: int
    cuts: tuple[Cut, ...]
    remnant_nm: int
    kerf_nm: int = 0
    drop_nm: int = 0
    trim_nm: int = 0
    offcut: bool = False
    shared_nm: int = 0
    reusable: Remnant | None = None


@record(frozen=True, slots=True)
class CutPlan:
    """Bars to buy and how to cut them.

    Attributes:
        cost: Price of the bars, or their total length in mm where no price is known.
        lower_bound: No plan for this demand can cost less than this.
        proven_optimal: True when cost equals the lower bound or the search ended in proof.
        proven: Goals, in their order, that no plan meets better; empty where the cost is not
            proven.
        cost_is_length: True when no prices were known and metres stand for money.
        yield_ratio: Length in pieces over length bought.
        method: Which stage of the pipeline gave the plan, for the reader.
    """

    material: str
    bars: tuple[Bar, ...]
    cost: Decimal
    lower_bound: Decimal
    proven_optimal: bool
    cost_is_length: bool
    yield_ratio: Decimal
    method: str
    proven: tuple[Goal, ...] = ()

    @property
    def set_ups(self) -> int:
        """How many bars are cut unlike any before; for bars cut alike the stops are set once."""
        stops = {
            (bar.length_nm, *((cut.start_nm, cut.length_nm) for cut in bar.cuts))
            for bar in self.bars
        }
        return len(stops)

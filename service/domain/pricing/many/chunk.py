"""A chunk of kept orders in flat arrays, and what its quotes come to."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from service.domain.pricing.many.exact import Ints

# Quantities are counted in millionths.
PLACES = 6


class Came(IntEnum):
    """What became of a quote."""

    PRICED = 0
    NO_PRICE = 1
    REFUSED = 2


@dataclass(frozen=True, slots=True)
class Chunk:
    """The material of quotes that share rules and currency.

    Attributes:
        offsets: Where the lines of each quote begin, and the end of the last.
        parts: Of each line, its number among the parts that prices were found for.
        quantities: Of each line, in millionths.
        amounts: Of each line, as last priced, in minor units.
    """

    offsets: Ints
    parts: Ints
    quantities: Ints
    amounts: Ints

    def __len__(self) -> int:
        """Count the quotes."""
        return len(self.offsets) - 1


@dataclass(frozen=True, slots=True)
class ManyPriced:
    """What the quotes of a chunk come to, in minor units.

    Attributes:
        came: ``Came`` of each quote; the sums of one that is not priced are zero.
        amounts: Of each line of the chunk, rounded, before discounts; zero likewise.
        gross: Of each quote, and so on down to ``cost_net``.
        cost: Of the lines whose cost is known.
        cost_net: Net of the same lines, and of what lifts an order to the minimum.
        skus: Parts without a price, by the place of the quote in the chunk.
        refusals: Why a quote is refused, likewise.
        singly: How many quotes were priced one by one.
    """

    came: NDArray[np.int8]
    amounts: Ints
    gross: Ints
    net: Ints
    tax: Ints
    discount: Ints
    cost: Ints
    cost_net: Ints
    skus: Mapping[int, tuple[str, ...]]
    refusals: Mapping[int, str]
    singly: int

"""What drove a run: how line amounts changed, added up by part."""

import numpy as np

from service.domain.pricing.many.chunk import Chunk
from service.domain.pricing.many.exact import Flags, Ints, spread


def changes_by_part(chunk: Chunk, amounts: Ints, quotes: Flags, parts: int) -> dict[int, int]:
    """Add up the change of the amounts of some quotes' lines by part, exactly.

    Args:
        chunk: With the amounts as last priced.
        amounts: Of each line, as priced again.
        quotes: Which quotes count.
        parts: How many parts there are.

    Returns:
        By number of the part, in minor units; parts whose lines did not change are left out, and
        so are those whose changes cancel.

    Example:
        >>> two = np.array([0, 2]), np.array([0, 1]), np.array([1, 1]), np.array([5, 5])
        >>> changes_by_part(Chunk(*two), np.array([7, 5]), np.array([True]), 2)
        {0: 2}
    """
    counted = spread(quotes, chunk.offsets)
    changes = np.where(counted, amounts - chunk.amounts, 0)
    most = max(int(changes.max(initial=0)), -int(changes.min(initial=0)))
    if most * len(changes) >= 2**63:
        sums: dict[int, int] = {}
        for part, change in zip(chunk.parts.tolist(), changes.tolist(), strict=True):
            sums[part] = sums.get(part, 0) + change
        return {part: change for part, change in sorted(sums.items()) if change}
    found = np.zeros(parts, np.int64)
    np.add.at(found, chunk.parts, changes)
    return {int(part): int(found[part]) for part in np.flatnonzero(found)}

"""Lay a deck out as the caller wishes; for least material, choose for all runs together.

Guarantee: where all combinations of the runs' alternatives number at most ``MOST_WEIGHED``, the
cheapest of them is found. Beyond that each run in turn takes its best alternative while the others
stand, until nothing improves or that many layouts have been weighed; the layout's notes say which.
Large decks weigh fewer layouts, so that no request takes the machine.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import product
from math import prod

from service.domain.layout.choice_records import Preference, Wish
from service.domain.layout.deck import Deck
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import RailingSystem

MOST_WEIGHED = 200
# Posts laid out over all weighings together.
MOST_POSTS_WEIGHED = 10_000

Weight = tuple[Decimal, int]
Weigh = Callable[[Layout], Decimal]


def lay_out_as_wished(
    deck: Deck, system: RailingSystem, preference: Preference, weigh: Weigh | None = None
) -> Layout:
    """Lay out a deck by a preference.

    Args:
        deck: As taped.
        system: The railing system.
        preference: The caller's wish.
        weigh: Cost of the order of a layout; None leaves LEAST_MATERIAL to the fewest posts.
    """
    if preference.wish is not Wish.LEAST_MATERIAL or weigh is None:
        return lay_out(deck, system, preference)
    first = lay_out(deck, system, preference)
    most = max(1, min(MOST_WEIGHED, MOST_POSTS_WEIGHED // max(1, len(first.posts))))
    search = _Search(deck, system, preference, weigh, most)
    counts = {choice.run: len(choice.options) for choice in first.choices}
    combinations = prod(counts.values())
    if combinations <= most:
        best = search.all(counts)
        word = f"the cheapest of all {combinations} combinations of the runs' divisions"
    else:
        best = search.run_by_run(counts)
        word = f"the cheapest of {search.weighed} of {combinations} combinations, run by run"
    chosen = search.layout(best)
    return replace(chosen, notes=(*chosen.notes, f"Least material: {word}."))


@dataclass
class _Search:
    deck: Deck
    system: RailingSystem
    preference: Preference
    weigh: Weigh
    most: int
    weights: dict[tuple[tuple[str, int], ...], Weight] = field(default_factory=dict)

    @property
    def weighed(self) -> int:
        return len(self.weights)

    def layout(self, picks: Mapping[str, int]) -> Layout:
        return lay_out(self.deck, self.system, replace(self.preference, picks=picks))

    def weight(self, picks: Mapping[str, int]) -> Weight:
        """Cost of the order; then posts and lopsidedness, by the sum of the ranks picked."""
        key = tuple(sorted(picks.items()))
        if key not in self.weights:
            self.weights[key] = self.weigh(self.layout(picks)), sum(picks.values())
        return self.weights[key]

    def all(self, counts: Mapping[str, int]) -> dict[str, int]:
        ways = product(*(range(count) for count in counts.values()))
        return min((dict(zip(counts, way, strict=True)) for way in ways), key=self.weight)

    def run_by_run(self, counts: Mapping[str, int]) -> dict[str, int]:
        best = dict.fromkeys(counts, 0)
        improved = True
        while improved and self.weighed < self.most:
            improved = False
            for run, count in counts.items():
                if self.weighed >= self.most:
                    break
                left = self.most - self.weighed
                ways = [{**best, run: number} for number in range(min(count, left + 1))]
                way = min(ways, key=self.weight)
                if self.weight(way) < self.weight(best):
                    best, improved = way, True
        return best

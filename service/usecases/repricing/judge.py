"""Whether a new price is worth a revision."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.money import minor_unit
from service.usecases.repricing.records import Outcome, Thresholds

PPM = 1_000_000


@dataclass(frozen=True, slots=True)
class Margin:
    """What is left of the net of the lines whose cost is known, in minor units."""

    net: int
    cost: int

    @property
    def ppm(self) -> int | None:
        """Margin over net in millionths, half up; None where the net is nothing."""
        return margins_ppm([self.net], [self.cost])[0]


@dataclass(frozen=True, slots=True)
class Judge:
    """Holds changes against thresholds, exactly.

    Attributes:
        rate, floor: Parts of one, None where they do not count.
        amount: In minor units, likewise.
    """

    rate: Fraction | None
    amount: Fraction | None
    floor: Fraction | None

    def under_floor(self, margin: Margin) -> bool:
        """Tell whether a margin is below the floor.

        Example:
            >>> judge = Judge(None, None, Fraction(1, 5))
            >>> judge.under_floor(Margin(100, 80)), judge.under_floor(Margin(100, 81))
            (False, True)
        """
        if self.floor is None or margin.net <= 0:
            return False
        left = margin.net - margin.cost
        return left * self.floor.denominator < self.floor.numerator * margin.net

    def outcome(self, before: int, after: int, *, under_floor: bool) -> Outcome:
        """Say what comes of a quote that was priced.

        Example:
            >>> judge = Judge(Fraction(1, 50), None, None)
            >>> [judge.outcome(5000, n, under_floor=False).value for n in (5000, 5100, 5101)]
            ['unchanged', 'under-threshold', 'changed']
            >>> judge.outcome(5000, 5001, under_floor=True).value
            'changed'
        """
        change = abs(after - before)
        if not change:
            return Outcome.UNCHANGED
        if under_floor or (self.rate is None and self.amount is None):
            return Outcome.CHANGED
        rate, amount = self.rate, self.amount
        if rate is not None and change * rate.denominator > rate.numerator * abs(before):
            return Outcome.CHANGED
        if amount is not None and change > amount:
            return Outcome.CHANGED
        return Outcome.UNDER_THRESHOLD

    def under_floors(self, nets: Sequence[int], costs: Sequence[int]) -> list[bool]:
        """Tell of many quotes whether their margin is below the floor."""
        if self.floor is None:
            return [False] * len(nets)
        return [self.under_floor(Margin(*one)) for one in zip(nets, costs, strict=True)]

    def outcomes(
        self, before: Sequence[int], after: Sequence[int], under_floor: Sequence[bool]
    ) -> list[Outcome]:
        """Say what comes of many quotes that were priced."""
        same, changed = Outcome.UNCHANGED, Outcome.CHANGED
        if self.rate is None and self.amount is None:
            return [same if a == b else changed for b, a in zip(before, after, strict=True)]
        every = zip(before, after, under_floor, strict=True)
        return [self.outcome(b, a, under_floor=under) for b, a, under in every]


def margins_ppm(nets: Sequence[int], costs: Sequence[int]) -> list[int | None]:
    """Give the margins of many quotes as ``Margin`` does.

    Example:
        >>> margins_ppm([200, 0], [150, 0])
        [250000, None]
    """
    return [
        (2 * (net - cost) * PPM + net) // (2 * net) if net else None
        for net, cost in zip(nets, costs, strict=True)
    ]


def judge_of(thresholds: Thresholds, currency: str) -> Judge:
    """Give what holds changes against thresholds in a currency."""
    amount = thresholds.change_amount
    return Judge(
        None if thresholds.change_rate is None else Fraction(thresholds.change_rate),
        None if amount is None else Fraction(amount) / Fraction(minor_unit(currency)),
        None if thresholds.margin_under is None else Fraction(thresholds.margin_under),
    )

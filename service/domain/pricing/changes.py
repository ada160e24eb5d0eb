"""What changed from one quote to another, in numbers and in words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal


@dataclass(frozen=True, slots=True)
class FiguredLine:
    """One line of a quote, as it was answered.

    Attributes:
        kind: "goods", "labour" or another kind of line.
        sku: "" on lines that are no parts.
        length: As printed, "" where it has none.
        length_nm: The same, None where it has none. [nm]
    """

    kind: str
    sku: str
    description: str
    length: str
    length_nm: int | None
    quantity: Decimal
    unit_of_measure: str
    unit_price: Decimal
    net: Decimal

    @property
    def key(self) -> tuple[str, str, int | None]:
        """What makes it the same line in another quote."""
        return (self.kind, self.sku or self.description, self.length_nm)

    @property
    def name(self) -> str:
        """How it is spoken of."""
        length = f", {self.length}" if self.length else ""
        return f"{self.sku} ({self.description}{length})" if self.sku else self.description


@dataclass(frozen=True, slots=True)
class Figures:
    """What two quotes are compared by.

    Attributes:
        totals: Amounts by name, in one order.
        facts: Other things by name, as text.
    """

    currency: str
    lines: tuple[FiguredLine, ...]
    totals: Mapping[str, Decimal]
    facts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class LineChange:
    """A line that is new, gone or different; one side is None where it is missing."""

    before: FiguredLine | None
    after: FiguredLine | None

    @property
    def line(self) -> FiguredLine:
        """The line as it is now, or as it was."""
        line = self.after or self.before
        if line is None:
            raise ValueError("a change has a line before it or after it")
        return line

    @property
    def net(self) -> Decimal:
        """What it adds to the net total."""
        gone = self.before.net if self.before else Decimal(0)
        come = self.after.net if self.after else Decimal(0)
        return come - gone


@dataclass(frozen=True, slots=True)
class TotalChange:
    """A total that is different; None where a quote has none of this name."""

    name: str
    before: Decimal | None
    after: Decimal | None


@dataclass(frozen=True, slots=True)
class FactChange:
    """Something else that is different."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Changes:
    """All that is different, and the same in words."""

    lines: tuple[LineChange, ...]
    totals: tuple[TotalChange, ...]
    facts: tuple[FactChange, ...]
    words: tuple[str, ...]

    def common(self, after: Figures) -> int:
        """Count the lines of the later quote that are the same in both."""
        return len(after.lines) - sum(1 for change in self.lines if change.after)


def compare(before: Figures, after: Figures) -> Changes:
    """Give what changed; lines in the order of the later quote, those gone at the end."""
    lines = tuple(_line_changes(before.lines, after.lines))
    totals = tuple(_total_changes(before, after))
    facts = tuple(
        FactChange(name, before.facts.get(name, ""), after.facts.get(name, ""))
        for name in dict.fromkeys([*before.facts, *after.facts])
        if before.facts.get(name, "") != after.facts.get(name, "")
    )
    money = after.currency
    if before.currency != after.currency:
        facts = (FactChange("currency", before.currency, after.currency), *facts)
    words = (
        *(_fact_in_words(fact) for fact in facts),
        *(line for change in lines for line in _line_in_words(change, money)),
        *(_total_in_words(total, money) for total in totals if total.name == "gross"),
    )
    return Changes(lines, totals, facts, words)


def _line_changes(
    before: Sequence[FiguredLine], after: Sequence[FiguredLine]
) -> Iterator[LineChange]:
    """Pair the lines by their keys; several of one key pair in their order."""
    left: dict[tuple[str, str, int | None], list[FiguredLine]] = {}
    for line in before:
        left.setdefault(line.key, []).append(line)
    for line in after:
        waiting = left.get(line.key)
        old = waiting.pop(0) if waiting else None
        if old is None or replace(old, length=line.length) != line:
            yield LineChange(old, line)
    for line in before:
        waiting = left[line.key]
        if any(line is one for one in waiting):
            yield LineChange(line, None)


def _total_changes(before: Figures, after: Figures) -> Iterator[TotalChange]:
    for name in dict.fromkeys([*before.totals, *after.totals]):
        was, now = before.totals.get(name), after.totals.get(name)
        if was != now:
            yield TotalChange(name, was, now)


def _fact_in_words(fact: FactChange) -> str:
    return f"{fact.name}: {fact.before or 'none'} → {fact.after or 'none'}"


def _line_in_words(change: LineChange, currency: str) -> Iterator[str]:
    was, now = change.before, change.after
    if was is None and now is not None:
        amount = f"{now.quantity} {now.unit_of_measure}"
        yield f"new: {now.name}, {amount}, {now.net} {currency}"
    elif now is None and was is not None:
        yield f"no longer: {was.name}, {was.quantity} {was.unit_of_measure}, {was.net} {currency}"
    elif was is not None and now is not None:
        yield f"{now.name}: {', '.join(_differences(was, now, currency))}"


def _differences(was: FiguredLine, now: FiguredLine, currency: str) -> Iterator[str]:
    if was.quantity != now.quantity:
        yield f"quantity {was.quantity} → {now.quantity}"
    if was.unit_of_measure != now.unit_of_measure:
        yield f"unit {was.unit_of_measure} → {now.unit_of_measure}"
    if was.unit_price != now.unit_price:
        yield f"unit price {was.unit_price} → {now.unit_price} {currency}"
    if was.description != now.description:
        yield f"described as {now.description!r}, before as {was.description!r}"
    if was.net != now.net:
        yield f"net {was.net} → {now.net} {currency}"


def _total_in_words(total: TotalChange, currency: str) -> str:
    was, now = total.before, total.after
    if was is None or now is None or not was:
        return f"total: {was} → {now} {currency}"
    return f"total: {was} → {now} {currency} ({now - was:+} {currency}, {percent(was, now):+} %)"


def percent(before: Decimal, after: Decimal) -> Decimal | None:
    """Tell by how much an amount grows, to 0.1 half up; None where it was nothing. [%]

    Example:
        >>> percent(Decimal("80.00"), Decimal("70.00"))
        Decimal('-12.5')
    """
    if not before:
        return None
    return ((after - before) / before * 100).quantize(Decimal("0.1"), ROUND_HALF_UP)

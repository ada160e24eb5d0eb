"""One piece of a run that keeps the material: some thousand quotes priced at once."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import repeat

import numpy as np
from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.ids import Ids
from service.adapters.storage.light_records import Candidate, Result, Revised
from service.adapters.storage.light_revisions import keep_results, write_revisions
from service.adapters.storage.line_texts import read_orders, write_amounts
from service.adapters.storage.run_candidates import Range, candidates
from service.adapters.storage.run_prices import RunPrices
from service.adapters.storage.sorting import sorted_out
from service.domain.pricing.many.by_part import changes_by_part
from service.domain.pricing.many.chunk import Came, Chunk, ManyPriced
from service.domain.pricing.many.exact import Flags, spread
from service.domain.pricing.many.price_many import price_many
from service.domain.pricing.material import Part
from service.usecases.repricing.judge import Judge, judge_of, margins_ppm
from service.usecases.repricing.records import Outcome, Revisions
from service.usecases.repricing.tallies import PartKey, Tallies


def price_range(
    books: Books, connection: Connection, prices: RunPrices, within: Range, at: datetime
) -> Tallies:
    """Price the quotes of a range again, and write down what comes of it.

    Quotes whose life a run changes are locked meanwhile. One whose revision is a draft is not:
    whatever becomes of it at the same time might as well have come just after.

    Args:
        books: Of the dealer.
        connection: Of the transaction.
        prices: Of the run.
        within: The range.
        at: When.
    """
    run = prices.run
    lock = run.wish.revisions is Revisions.AS_BEFORE and not run.wish.dry_run
    rows = candidates(books, connection, run, within, lock=lock)
    work = _Work(prices, judge_of(run.wish.thresholds, run.prices.currency), Ids(at))
    work.sort(rows, books, connection, at)
    for rules, mine in work.by_rules.items():
        work.price(connection, rules, mine)
    keep_results(books, connection, run.id, work.results)
    write_revisions(books, connection, run, within, work.revised, at)
    return work.tallies


@dataclass
class _Work:
    """What comes of a range, as it is found."""

    prices: RunPrices
    judge: Judge
    ids: Ids
    tallies: Tallies = field(default_factory=Tallies)
    results: list[Result] = field(default_factory=list)
    revised: list[Revised] = field(default_factory=list)
    by_rules: dict[str, list[Candidate]] = field(default_factory=lambda: defaultdict(list))

    def sort(
        self, rows: Sequence[Candidate], books: Books, connection: Connection, at: datetime
    ) -> None:
        """Part quotes that can be priced, by their rules, from those that cannot."""
        run = self.prices.run
        for row, closed in sorted_out(books, connection, run, rows, at):
            if closed:
                self._note(row, Outcome.CLOSED, closed)
            elif row.currency != run.prices.currency:
                self._note(row, Outcome.OTHER_CURRENCY, row.currency)
            elif not row.lines or (row.material is None and row.material_of != row.id):
                self._note(row, Outcome.NOT_KEPT, "")
            else:
                self.by_rules[row.rules].append(row)

    def price(self, connection: Connection, rules: str, rows: Sequence[Candidate]) -> None:
        """Price quotes that share rules."""
        lines = read_orders([row.lines for row in rows], [row.material for row in rows])
        found, numbers = self.prices.resolved(connection, rules, lines.parts)
        chunk = Chunk(lines.offsets, numbers, lines.quantities, lines.amounts)
        priced = price_many(chunk, found.prices)
        results = self._results(rows, priced)
        outcomes = [result.outcome for result in results]
        self._count(results, priced)
        self.results += [
            result
            for result in results
            if result.outcome is not Outcome.UNCHANGED or result.under_floor
        ]
        if not self.prices.run.wish.dry_run and Outcome.CHANGED in outcomes:
            texts = write_amounts(lines.offsets, priced.amounts)
            self.revised += [
                Revised(result, row, text)
                for result, row, text in zip(results, rows, texts, strict=True)
                if result.revision_id is not None
            ]
        changed = np.array([outcome is Outcome.CHANGED for outcome in outcomes], np.bool_)
        self._count_parts(chunk, priced, changed, found.parts)

    def _results(self, rows: Sequence[Candidate], priced: ManyPriced) -> list[Result]:
        """Judge each quote."""
        before, after = [row.total_minor for row in rows], priced.gross.tolist()
        nets, costs = priced.cost_net.tolist(), priced.cost.tolist()
        under = self.judge.under_floors(nets, costs)
        outcomes = self.judge.outcomes(before, after, under)
        margins = margins_ppm(nets, costs)
        ids: Iterator[str] = iter(())
        if not self.prices.run.wish.dry_run:
            ids = iter(self.ids.take(outcomes.count(Outcome.CHANGED)))
        currency = self.prices.run.prices.currency
        revisions = [next(ids, None) if one is Outcome.CHANGED else None for one in outcomes]
        columns = ([row.id for row in rows], outcomes, before, repeat(currency), after)
        each = zip(*columns, revisions, margins, under, repeat(""), strict=False)
        results = list(map(Result._make, each))
        for place in np.flatnonzero(priced.came != Came.PRICED).tolist():
            results[place] = self._unpriced(rows[place], place, priced)
        return results

    def _unpriced(self, row: Candidate, place: int, priced: ManyPriced) -> Result:
        if priced.came[place] == Came.NO_PRICE:
            outcome, detail = Outcome.NO_PRICE, " ".join(priced.skus[place])
        else:
            outcome, detail = Outcome.REFUSED, priced.refusals[place]
        return Result(row.id, outcome, row.total_minor, row.currency, detail=detail)

    def _count(self, results: Sequence[Result], priced: ManyPriced) -> None:
        tallies = self.tallies
        tallies.outcomes += Counter([result.outcome for result in results])
        tallies.under_floor += sum([result.under_floor for result in results])
        changed = [result for result in results if result.outcome is Outcome.CHANGED]
        tallies.before += sum([result.before for result in changed])
        tallies.after += sum([result.after or 0 for result in changed])
        for skus in priced.skus.values():
            tallies.without_price += Counter(set(skus))

    def _count_parts(
        self, chunk: Chunk, priced: ManyPriced, changed: Flags, parts: Sequence[Part]
    ) -> None:
        """Count what drove the changes."""
        for number, change in changes_by_part(chunk, priced.amounts, changed, len(parts)).items():
            self.tallies.parts[_key(parts[number])] += change
        moved = (priced.amounts != chunk.amounts) & spread(changed, chunk.offsets)
        places = spread(np.arange(len(chunk)), chunk.offsets)[moved]
        once = places * len(parts) + chunk.parts[moved]
        once.sort()  # many times as fast as finding what is unique
        first = np.append(True, once[1:] != once[:-1])[: len(once)]
        counts = np.bincount(once[first] % len(parts), minlength=len(parts))
        for number in np.flatnonzero(counts).tolist():
            self.tallies.part_quotes[_key(parts[number])] += int(counts[number])

    def _note(self, row: Candidate, outcome: Outcome, detail: str) -> None:
        self.tallies.outcomes[outcome] += 1
        self.results.append(Result(row.id, outcome, row.total_minor, row.currency, detail=detail))


def _key(part: Part) -> PartKey:
    return part.kind, part.sku, part.name

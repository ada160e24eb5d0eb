"""For each clause not met, the smallest change that would meet it, found by trying it.

A change is tried on the job itself: laid out again and held against the same clause. The step that
is kept is the last one to meet it, on a grid a tape can show; then the whole code is held against
it once more, to say what else it would meet and what it would break.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Finding, Outcome
from service.domain.compliance.measures import MEASURES
from service.domain.errors import QuotingError
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.lengths import INCH, MILLIMETRE
from service.usecases.orders import Units
from service.usecases.remedies import Job, Remedy, remedies_for

GRID_NM = {Units.IMPERIAL: INCH // 16, Units.METRIC: MILLIMETRE}
MOST_COUNT = 30  # steps of a count that are tried
MOST_LENGTH_NM = 120 * INCH  # farthest a length is moved
# Layouts tried for one answer; a large deck gets fewer, so that advice costs about as much.
MOST_TRIALS = 150
POSTS_TRIED = 6_000


@dataclass(frozen=True, slots=True)
class Advice:
    """What would meet one clause.

    Attributes:
        clause: Not met as the job stands.
        elements: Where it is not met.
        change: What to change; "" where nothing tried would meet it.
        member: Its place in the request.
        before, after: Its value; lengths in nanometres, else counts; 0 and 1 for a choice.
        counted: Whether these are counts.
        also_met: Clauses not met now that the change meets too.
        no_longer_met: Clauses met now that the change breaks.
    """

    clause: Clause
    elements: tuple[str, ...]
    change: str = ""
    member: str = ""
    before: int = 0
    after: int = 0
    counted: bool = False
    also_met: tuple[Clause, ...] = ()
    no_longer_met: tuple[Clause, ...] = ()


def advise(
    job: Job,
    layout: Layout,
    clauses: Sequence[Clause],
    findings: Sequence[Finding],
    units: Units,
) -> tuple[Advice, ...]:
    """Find the smallest change for each clause not met, each by itself.

    Args:
        job: As it stands.
        layout: Of the job as it stands.
        clauses: Held against it.
        findings: What came of it.
        units: Decide the grid: 1/16 in or 1 mm.
    """
    not_met = [finding for finding in findings if finding.outcome is Outcome.NOT_MET]
    if not not_met:
        return ()
    trials = _Trials(job, clauses, min(MOST_TRIALS, POSTS_TRIED // max(1, len(layout.posts))))
    stairs = _stairs_of(layout)
    return tuple(
        _advise_on(group, job, stairs, findings, trials, GRID_NM[units])
        for group in _by_cause(not_met)
    )


def _by_cause(not_met: Sequence[Finding]) -> Iterator[list[Finding]]:
    """Part the findings of a clause by what may cure them: openings by their place."""
    groups: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in not_met:
        clause = finding.clause
        place = finding.note.partition(".")[0] if "Opening" in finding.note else ""
        groups.setdefault((clause.code, clause.edition, clause.key, place), []).append(finding)
    yield from groups.values()


def _stairs_of(layout: Layout) -> dict[str, int]:
    """Give the place in the request of the stair that each element belongs to."""
    places = {stair.name: stair.index for stair in layout.deck.stairs}
    runs = {run.name: places[run.stair] for run in layout.runs if run.stair in places}
    sections = {s.name: runs[s.run] for s in layout.sections if s.run in runs}
    handrails = {h.name: places[h.stair] for h in layout.handrails}
    return {**sections, **handrails, **places}


class _Trials:
    """Lays changed jobs out, as often as the budget allows."""

    def __init__(self, job: Job, clauses: Sequence[Clause], budget: int) -> None:
        self._job = job
        self._clauses = clauses
        self.left = budget

    def findings(self, remedy: Remedy, value: int, only: Clause | None) -> list[Finding]:
        """Hold the changed job against one clause and what decides its needs, or against all.

        Raises:
            QuotingError: The changed job cannot be built.
        """
        self.left -= 1
        job = remedy.apply(self._job, value)
        layout = lay_out(job.deck, job.system, job.preference)
        held = [c for c in self._clauses if only is None or c == only or c.decides]
        return list(assess(held, layout, MEASURES, job.site))

    def meets(self, remedy: Remedy, value: int, group: Sequence[Finding]) -> bool:
        """Tell whether the changed job meets the clause wherever the group does not."""
        if self.left <= 0 or value < 0:
            return False
        clause = group[0].clause
        try:
            found = self.findings(remedy, value, clause)
        except (QuotingError, ValueError):
            return False
        return not any(
            finding.outcome is Outcome.NOT_MET
            for finding in found
            if finding.clause == clause and _same_cause(finding, group[0])
        )


def _same_cause(finding: Finding, wanted: Finding) -> bool:
    if "Opening" not in wanted.note:
        return True
    return finding.note.partition(".")[0] == wanted.note.partition(".")[0]


def _advise_on(
    group: list[Finding],
    job: Job,
    stairs: dict[str, int],
    findings: Sequence[Finding],
    trials: _Trials,
    grid_nm: int,
) -> Advice:
    clause = group[0].clause
    elements = tuple(dict.fromkeys(finding.element for finding in group))
    concerned = frozenset(stairs[name] for name in elements if name in stairs)
    worst = min(group, key=lambda finding: finding.margin or 0)
    for remedy in remedies_for(clause.measure, job, worst, concerned):
        value = _smallest(remedy, worst, group, trials, grid_nm)
        if value is not None:
            return _judged(Advice(
                clause, elements, remedy.change, remedy.member, remedy.value, value, remedy.counted
            ), remedy, findings, trials)  # fmt: skip
    return Advice(clause, elements)


def _smallest(
    remedy: Remedy, worst: Finding, group: list[Finding], trials: _Trials, grid_nm: int
) -> int | None:
    """Give the value nearest to the present one that meets the clause, None if none tried does."""
    if remedy.steps == 0:
        return 1 if trials.meets(remedy, 1, group) else None
    step = 1 if remedy.counted else grid_nm
    most = MOST_COUNT if remedy.counted else MOST_LENGTH_NM // step
    start = _on_grid(remedy.value, step, remedy.steps)
    guess = 1 if remedy.counted else max(1, -(-abs(worst.margin or 0) // step))

    def met(count: int) -> bool:
        return trials.meets(remedy, start + remedy.steps * (count - 1) * step, group)

    count = least_count(met, guess, most)
    return None if count is None else start + remedy.steps * (count - 1) * step


def _on_grid(value: int, step: int, way: int) -> int:
    """Give the first mark of the grid beyond a value, the way that is tried."""
    below = value // step * step
    return below + step if way > 0 else (below if below < value else value - step)


def least_count(met: Callable[[int], bool], guess: int, most: int) -> int | None:
    """Find the least count from 1 that is met, taking it that all greater ones are met too.

    Args:
        met: Tries a count.
        guess: Where to try first.
        most: Greatest count tried.

    Example:
        >>> least_count(lambda count: count >= 13, 4, 100), least_count(lambda _: False, 4, 100)
        (13, None)
    """
    low, high = 0, min(guess, most)  # low is not met
    while not met(high):
        if high >= most:
            return None
        low, high = high, min(2 * high, most)
    if high - low > 1 and not met(high - 1):
        return high
    while high - low > 1:
        middle = (low + high) // 2
        if met(middle):
            high = middle
        else:
            low = middle
    return high


def _judged(advice: Advice, remedy: Remedy, before: Sequence[Finding], trials: _Trials) -> Advice:
    """Say what else the change would meet and what it would break."""
    after = trials.findings(remedy, advice.after, None)
    failing_before, failing_after = _failing(before), _failing(after)
    return Advice(
        advice.clause,
        advice.elements,
        advice.change,
        advice.member,
        advice.before,
        advice.after,
        advice.counted,
        also_met=tuple(
            clause
            for key, clause in failing_before.items()
            if key not in failing_after and clause != advice.clause
        ),
        no_longer_met=tuple(
            clause for key, clause in failing_after.items() if key not in failing_before
        ),
    )


def _failing(findings: Sequence[Finding]) -> dict[tuple[str, str, str], Clause]:
    return {
        (f.clause.code, f.clause.edition, f.clause.key): f.clause
        for f in findings
        if f.outcome is Outcome.NOT_MET
    }

"""For each cause of a clause not met, the smallest change that would cure it, found by trying it.

A change is tried on the job itself: laid out again, screened again where the structure is at
fault, and held against the same clause. The step that is kept is the last one to cure, on a grid a
tape can show; then the whole code is held against it once more, to say what else it would meet and
what it would break.
"""

from collections.abc import Sequence
from dataclasses import replace

from service.domain.compliance.findings import Clause, Finding, Outcome
from service.domain.compliance.load_clauses import decides, name_of
from service.domain.errors import QuotingError
from service.domain.layout.records import Layout
from service.domain.lengths import INCH, MILLIMETRE
from service.domain.structure.checks import Check, CheckOutcome
from service.usecases.advice import Advice, failing
from service.usecases.causes import Cause, causes_of
from service.usecases.least_count import LeastCount
from service.usecases.orders import Units
from service.usecases.remedy import Job, Remedy
from service.usecases.trials import OutOfTrials, Trials

GRID_NM = {Units.IMPERIAL: INCH // 16, Units.METRIC: MILLIMETRE}
MOST_COUNT = 30  # steps of a count that are tried
MOST_LENGTH_NM = 120 * INCH  # farthest a length is moved


def advise(
    job: Job,
    layout: Layout,
    clauses: Sequence[Clause],
    findings: Sequence[Finding],
    units: Units,
    *,
    checks: Sequence[Check] = (),
    trials: Trials | None = None,
    codes_left: int = 1,
) -> tuple[Advice, ...]:
    """Find the smallest change for each cause of a clause not met, each by itself.

    Args:
        job: As it stands.
        layout: Of the job as it stands.
        clauses: Held against it.
        findings: What came of it, the loads decided by the checks.
        units: Decide the grid: 1/16 in or 1 mm.
        checks: Of the structure, as it stands.
        trials: Shared by several codes held against the same job; None starts anew.
        codes_left: How many codes, with this one, still share them.
    """
    causes = tuple(causes_of(findings, checks, job, layout))
    advisor = _Advisor(job, clauses, findings, units, trials or Trials(job, layout))
    given = []
    for done, cause in enumerate(causes):
        advisor.trials.share(codes_left * (len(causes) - done))
        given.append((cause, *advisor.advise_on(cause)))
    return tuple(advisor.told_together(given))


class _Advisor:
    """Tries changes for the causes of one check."""

    def __init__(
        self,
        job: Job,
        clauses: Sequence[Clause],
        findings: Sequence[Finding],
        units: Units,
        trials: Trials,
    ) -> None:
        self.job, self.clauses, self.findings, self.trials = job, clauses, findings, trials
        self.metric = units is Units.METRIC
        self.tape_nm = GRID_NM[units]

    def advise_on(self, cause: Cause) -> tuple[Advice, Remedy | None]:
        """Give the first remedy that cures a cause, by as little as it takes."""
        bare = Advice(cause.clause, cause.elements, cause=cause.check)
        out_of_trials = False
        for remedy in cause.remedies:
            search = self._search(remedy, cause)
            out_of_trials = out_of_trials or search.cut_short
            if search.least is not None:
                value = self._value(remedy, search.least)
                words = remedy.words
                told = (words(remedy.value), words(value)) if words else ("", "")
                advice = replace(
                    bare, change=remedy.change, member=remedy.member, before=remedy.value,
                    after=value, counted=remedy.counted, told=told, cut_short=search.cut_short,
                )  # fmt: skip
                return self._judged(advice, remedy), remedy
        return replace(bare, cut_short=out_of_trials), None

    def _search(self, remedy: Remedy, cause: Cause) -> LeastCount:
        """Search the number of steps nearest to the present value that cures."""
        step = self._step(remedy)
        most = MOST_COUNT if remedy.counted else MOST_LENGTH_NM // step
        if remedy.furthest is not None:
            room = remedy.steps * (remedy.furthest - self._value(remedy, 1))
            most = room // step + 1 if room >= 0 else 0
        guess = 1 if remedy.counted else max(1, -(-cause.short_nm // step))

        def cured(count: int) -> bool:
            value = self._value(remedy, count)
            return value >= 0 and self._cured(remedy, value, cause)

        search = LeastCount(cured)
        if remedy.steps == 0:
            search.run(1, 1)
        elif most > 0:
            search.run(guess, most)
        return search

    def _step(self, remedy: Remedy) -> int:
        if remedy.counted:
            return 1
        return remedy.grid_nm[self.metric] if remedy.grid_nm else self.tape_nm

    def _value(self, remedy: Remedy, count: int) -> int:
        """Give the value so many marks of the grid from the present one."""
        if remedy.steps == 0:
            return 1
        step = self._step(remedy)
        below = remedy.value // step * step
        if remedy.steps > 0:
            return below + count * step
        start = below if below < remedy.value else remedy.value - step
        return start - (count - 1) * step

    def _cured(self, remedy: Remedy, value: int, cause: Cause) -> bool:
        try:
            changed = remedy.apply(self.job, value)
            trial = self.trials.check(changed, cause.asked(self.clauses))
        except (QuotingError, ValueError):
            return False
        return cause.cured(trial.findings, trial.checks, trial.layout)

    def _judged(self, advice: Advice, remedy: Remedy) -> Advice:
        """Say what else the change would meet, what it would break, and what it leaves."""
        try:
            trial = self.trials.check(
                remedy.apply(self.job, advice.after), self.clauses, whole=True
            )
        except OutOfTrials:
            return replace(advice, cut_short=True)
        before, after = failing(self.findings), failing(trial.findings)
        return replace(
            advice,
            still_over=_still_over(advice, trial.checks),
            also_met=tuple(
                clause for key, clause in before.items()
                if key not in after and clause != advice.clause
            ),
            no_longer_met=tuple(clause for key, clause in after.items() if key not in before),
        )  # fmt: skip

    def told_together(self, given: Sequence[tuple[Cause, Advice, Remedy | None]]) -> list[Advice]:
        """Say of changes that each leave another cause of the same clause whether all cure it."""
        together: dict[str, bool] = {}
        for clause in [cause.clause for cause, _, _ in given if cause.check]:
            mine = [(advice, remedy) for cause, advice, remedy in given if cause.clause == clause]
            changes = [(advice, remedy) for advice, remedy in mine if remedy is not None]
            if name_of(clause) not in together and len(mine) > 1 and len(changes) == len(mine):
                together[name_of(clause)] = self._meets_together(clause, changes)
        return [
            replace(advice, together=together.get(name_of(advice.clause)))
            if advice.still_over
            else advice
            for _, advice, _ in given
        ]

    def _meets_together(self, clause: Clause, changes: Sequence[tuple[Advice, Remedy]]) -> bool:
        furthest: dict[str, tuple[Advice, Remedy]] = {}
        for advice, remedy in changes:
            known = furthest.get(remedy.member)
            if known is None or remedy.steps * (advice.after - known[0].after) > 0:
                furthest[remedy.member] = (advice, remedy)
        job = self.job
        for advice, remedy in furthest.values():
            job = remedy.apply(job, advice.after)
        try:
            found = self.trials.check(job, self.clauses, whole=True).findings
        except (QuotingError, ValueError, OutOfTrials):
            return False
        return not any(f.clause == clause and f.outcome is Outcome.NOT_MET for f in found)


def _still_over(advice: Advice, checks: Sequence[Check]) -> tuple[str, ...]:
    """Name the checks that keep the clause from being met even with the change."""
    if not advice.cause:
        return ()
    names = (
        check.name
        for check in checks
        if check.outcome is CheckOutcome.OVER and decides(check, advice.clause)
    )
    return tuple(dict.fromkeys(names))

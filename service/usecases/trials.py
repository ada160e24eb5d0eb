"""Changed jobs laid out, screened and held against clauses, as often as one answer allows."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Finding
from service.domain.compliance.load_clauses import is_screened, name_of
from service.domain.compliance.measures import MEASURES
from service.domain.errors import QuotingError
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.structure.checks import Check
from service.domain.structure.specification import StructureSpec
from service.usecases.remedy import Job
from service.usecases.screen_structure import screen_structure

# Layouts tried for one answer; a large deck gets fewer, so that advice costs about as much.
MOST_TRIALS = 120.0
POSTS_TRIED = 10_000
LEAST_SHARE = 3.0  # layouts; enough to confirm a good guess
# What else a trial costs, in layouts of the same deck, as measured.
OF_READING, OF_SCREENING, OF_ALL_CLAUSES = 0.15, 0.35, 0.3


class OutOfTrials(Exception):
    """Nothing more may be tried for this cause."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of a changed job; no checks without a specification."""

    layout: Layout
    findings: tuple[Finding, ...]
    checks: tuple[Check, ...]


class Trials:
    """Lays out, screens and assesses, keeping every layout for the next clause and code."""

    def __init__(self, job: Job, layout: Layout) -> None:
        self.left = min(MOST_TRIALS, POSTS_TRIED / max(1, len(layout.posts)))
        self._stop = 0.0
        self._laid_out: list[tuple[Job, Layout | QuotingError]] = [(job, layout)]
        self._screened: dict[tuple[object, ...], Trial] = {}

    def share(self, causes: int) -> None:
        """Leave something for the other causes that are still to be looked into."""
        self._stop = max(0.0, self.left - max(LEAST_SHARE, self.left / max(1, causes)))

    def check(self, job: Job, clauses: Sequence[Clause], *, whole: bool = False) -> Trial:
        """Hold a changed job against clauses, the structure too where one of them asks for it.

        Args:
            job: As changed.
            clauses: One with what decides its needs, or all.
            whole: Whether these are all clauses.

        Raises:
            OutOfTrials: Nothing more may be tried.
            QuotingError: The changed job cannot be built.
        """
        self._spend(OF_ALL_CLAUSES if whole else OF_READING)
        layout = self._layout_of(job)
        if job.spec is None or not any(is_screened(clause) for clause in clauses):
            return Trial(layout, assess(clauses, layout, MEASURES, job.site), ())
        # Laid out layouts are kept, so that their identity tells them apart.
        key = (id(layout), job.spec, *(name_of(clause) for clause in clauses))
        if key not in self._screened or whole:
            self._spend(OF_SCREENING)
            self._screened[key] = _screened(job, job.spec, layout, clauses)
        return self._screened[key]

    def _layout_of(self, job: Job) -> Layout:
        laid_out = next((known for one, known in self._laid_out if _alike(one, job)), None)
        if laid_out is None:
            self._spend(1 - OF_READING)
            laid_out = _tried(job)
            self._laid_out.append((job, laid_out))
        if isinstance(laid_out, QuotingError):
            raise laid_out
        return laid_out

    def _spend(self, cost: float) -> None:
        if self.left <= self._stop:
            raise OutOfTrials
        self.left -= cost


def _screened(job: Job, spec: StructureSpec, layout: Layout, clauses: Sequence[Clause]) -> Trial:
    found = assess(clauses, layout, MEASURES, job.site)
    findings, screening = screen_structure(found, layout, spec)
    return Trial(layout, findings, screening.checks if screening else ())


def _alike(one: Job, other: Job) -> bool:
    """Tell whether two jobs are laid out the same."""
    return (one.system, one.deck, one.preference) == (other.system, other.deck, other.preference)


def _tried(job: Job) -> Layout | QuotingError:
    try:
        return lay_out(job.deck, job.system, job.preference)
    except QuotingError as reason:
        return reason

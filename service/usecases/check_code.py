"""Hold a deck against the code in force, or against several side by side."""

from dataclasses import dataclass
from datetime import date

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Finding
from service.domain.errors import QuotingError
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.structure.materials import Materials
from service.domain.structure.screening import Screening
from service.usecases.advice import Advice
from service.usecases.advise import advise
from service.usecases.orders import CodeCheckOrder, CodeSelection, QuoteOrder, Units
from service.usecases.ports import CodeLibrary
from service.usecases.remedy import Job
from service.usecases.screen_structure import screen_structure
from service.usecases.trials import Trials
from service.usecases.watching import UNWATCHED, Watch


@dataclass(frozen=True, slots=True)
class CodeCheck:
    """What came of one code.

    Attributes:
        name: What was asked for, such as "IRC 2021" or a place.
        screening: Of the structure, None where none was asked for.
        advice: What would meet each clause that is not met.
    """

    name: str
    findings: tuple[Finding, ...]
    screening: Screening | None
    advice: tuple[Advice, ...]


def check_codes(
    order: CodeCheckOrder, on: date, *, codes: CodeLibrary, materials: Materials
) -> tuple[CodeCheck, ...]:
    """Lay the deck out once and hold it against each code asked for, in their order."""
    layout = lay_out(order.deck, order.system, order.preference)
    job = job_of(order, materials)
    trials = Trials(job, layout)
    return tuple(
        check_job(
            job, layout, _clauses_of(order, done, on, codes), wanted.name, order.units,
            trials=trials, codes_left=len(order.codes) - done,
        )
        for done, wanted in enumerate(order.codes)
    )  # fmt: skip


def _clauses_of(
    order: CodeCheckOrder, index: int, on: date, codes: CodeLibrary
) -> tuple[Clause, ...]:
    """Find the clauses of one of the codes asked for; a refusal points to that one."""
    try:
        return clauses_for(order.codes[index], on, codes)
    except QuotingError as refusal:
        if order.side_by_side:
            refusal.where = ("codes", index, *refusal.where[1:])
        raise


def job_of(order: CodeCheckOrder | QuoteOrder, materials: Materials) -> Job:
    """Give what is checked, with what it is made of looked up."""
    spec = None if order.structure is None else order.structure(materials)
    return Job(order.deck, order.system, order.site, order.preference, spec, materials)


def check_job(
    job: Job,
    layout: Layout,
    clauses: tuple[Clause, ...],
    name: str,
    units: Units,
    *,
    trials: Trials | None = None,
    codes_left: int = 1,
    watch: Watch = UNWATCHED,
) -> CodeCheck:
    """Compare every element with the limits, screen the structure if asked, and advise.

    Args:
        job: What is checked.
        layout: Of the job.
        clauses: In force.
        name: Of the code or place.
        units: Of the answer; they decide the grid of the advice.
        trials: Shared by several codes.
        codes_left: How many codes, with this one, still share them.
        watch: Looks on.
    """
    with watch.stage("check"):
        found = assess(clauses, layout, site=job.site)
    with watch.stage("screen"):
        findings, screening = screen_structure(found, layout, job.spec)
    checks = screening.checks if screening else ()
    with watch.stage("advise"):
        advice = advise(
            job, layout, clauses, findings, units,
            checks=checks, trials=trials, codes_left=codes_left,
        )  # fmt: skip
    return CodeCheck(name, findings, screening, advice)


def clauses_for(wanted: CodeSelection, on: date, codes: CodeLibrary) -> tuple[Clause, ...]:
    """Find the clauses: of the edition asked for, or of the one in force in a place."""
    if wanted.place:
        clauses = codes.in_force(wanted.place, on)
    else:
        clauses = codes.clauses(wanted.code, wanted.edition)
    return codes.amended(clauses, wanted.amendments) if wanted.amendments else clauses

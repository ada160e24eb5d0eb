"""Hold a deck against the code in force, or against several side by side."""

from dataclasses import dataclass
from datetime import date

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Finding
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.structure.materials import Materials
from service.domain.structure.screening import Screening
from service.usecases.advise import Advice, advise
from service.usecases.orders import CodeCheckOrder, CodeSelection, QuoteOrder
from service.usecases.ports import CodeLibrary
from service.usecases.remedies import Job
from service.usecases.screen_structure import screen_structure


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
    return tuple(
        check_layout(layout, order, clauses_for(wanted, on, codes), wanted.name, materials)
        for wanted in order.codes
    )


def check_layout(
    layout: Layout,
    order: CodeCheckOrder | QuoteOrder,
    clauses: tuple[Clause, ...],
    name: str,
    materials: Materials,
) -> CodeCheck:
    """Compare every element with the limits, screen the structure if asked, and advise."""
    found = assess(clauses, layout, site=order.site)
    findings, screening = screen_structure(found, layout, order.structure, materials)
    job = Job(order.deck, order.system, order.site, order.preference)
    return CodeCheck(name, findings, screening, advise(job, layout, clauses, found, order.units))


def clauses_for(wanted: CodeSelection, on: date, codes: CodeLibrary) -> tuple[Clause, ...]:
    """Find the clauses: of the edition asked for, or of the one in force in a place."""
    if wanted.place:
        clauses = codes.in_force(wanted.place, on)
    else:
        clauses = codes.clauses(wanted.code, wanted.edition)
    return codes.amended(clauses, wanted.amendments) if wanted.amendments else clauses

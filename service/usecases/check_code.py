"""Hold a deck against the code in force."""

from datetime import date

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Finding
from service.domain.layout.lay_out import lay_out
from service.usecases.orders import CodeCheckOrder, CodeSelection
from service.usecases.ports import CodeLibrary


def check_code(order: CodeCheckOrder, on: date, *, codes: CodeLibrary) -> tuple[Finding, ...]:
    """Lay the deck out and compare every element a clause covers with its limit."""
    layout = lay_out(order.deck, order.system, order.preference)
    return assess(clauses_for(order.code, on, codes), layout)


def clauses_for(wanted: CodeSelection, on: date, codes: CodeLibrary) -> tuple[Clause, ...]:
    """Find the clauses: of the edition asked for, or of the one in force in a place."""
    if wanted.place:
        return codes.in_force(wanted.place, on)
    return codes.clauses(wanted.code, wanted.edition)

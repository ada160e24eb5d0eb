"""Hold a deck against the code in force."""

from datetime import date

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause
from service.domain.layout.lay_out import lay_out
from service.domain.structure.materials import Materials
from service.usecases.orders import CodeCheckOrder, CodeSelection
from service.usecases.ports import CodeLibrary
from service.usecases.screen_structure import Screened, screen_structure


def check_code(
    order: CodeCheckOrder, on: date, *, codes: CodeLibrary, materials: Materials
) -> Screened:
    """Lay the deck out, compare every element with the limits, and screen its structure if asked.

    Returns:
        The findings, and the screening or None.
    """
    layout = lay_out(order.deck, order.system, order.preference)
    findings = assess(clauses_for(order.code, on, codes), layout)
    return screen_structure(findings, layout, order.structure, materials)


def clauses_for(wanted: CodeSelection, on: date, codes: CodeLibrary) -> tuple[Clause, ...]:
    """Find the clauses: of the edition asked for, or of the one in force in a place."""
    if wanted.place:
        return codes.in_force(wanted.place, on)
    return codes.clauses(wanted.code, wanted.edition)

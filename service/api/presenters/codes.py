"""Codes held and places that adopted them, as plain dicts."""

from collections.abc import Iterable

from service.api.presenters.findings import present_clause
from service.api.presenters.values import Json
from service.usecases.orders import Units
from service.usecases.ports import EditionHeld, PeriodHeld, PlaceHeld


def present_library(editions: Iterable[EditionHeld], places: Iterable[PlaceHeld]) -> Json:
    """Give every edition without its clauses, and every place."""
    return {
        "codes": [_edition(edition) for edition in editions],
        "places": [
            {
                "name": place.name,
                "invented": place.invented,
                "note": place.note,
                "in_force": [_period(period) for period in place.periods],
            }
            for place in places
        ],
    }


def present_edition(edition: EditionHeld, units: Units) -> Json:
    """Give one edition with every clause in full."""
    return {
        **_edition(edition),
        "sources": list(edition.sources),
        "clauses": [present_clause(clause, units) for clause in edition.clauses],
    }


def _edition(edition: EditionHeld) -> Json:
    clauses = edition.clauses
    return {
        "code": edition.code,
        "edition": edition.edition,
        "title": edition.title,
        "overlay": edition.overlay,
        "note": edition.note,
        "clause_count": len(clauses),
        "from_memory_count": sum(clause.from_memory for clause in clauses),
        "link": f"/v1/codes/{edition.code}/{edition.edition}",
    }


def _period(period: PeriodHeld) -> Json:
    return {
        "from": period.since.isoformat(),
        "codes": [f"{code} {edition}" for code, edition in period.codes],
        "amended": [
            {"clause": key, "change": change, "from_memory": recalled}
            for key, change, recalled in period.amended
        ],
        "source": period.source,
        "from_memory": period.from_memory,
    }

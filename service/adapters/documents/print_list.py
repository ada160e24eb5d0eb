"""The list of what was read in no copy of its code, to be confirmed against print.

It stands in DEVELOPERS.md between two marks and is written from the data, so that it never falls
behind: ``evenbay confirm DEVELOPERS.md`` writes it anew and a test compares.
"""

from collections.abc import Iterable, Iterator

from service.domain.compliance.findings import Clause, Limit
from service.usecases.ports import EditionHeld, PlaceHeld

START = "<!-- to be confirmed against print: written by evenbay confirm -->"
END = "<!-- end of what is to be confirmed -->"


class MarksMissing(ValueError):
    """The text to be written into has not both marks, in order."""


def with_print_list(text: str, editions: Iterable[EditionHeld], places: Iterable[PlaceHeld]) -> str:
    """Give a text with the list between its marks written anew.

    Raises:
        MarksMissing: The text has not both marks, in order.
    """
    before, start, rest = text.partition(START)
    _old, end, after = rest.partition(END)
    if not start or not end:
        raise MarksMissing(f"the text needs the lines {START} and {END}")
    listed = "\n".join(print_list(editions, places))
    return f"{before}{START}\n\n{listed}\n\n{END}{after}"


def print_list(editions: Iterable[EditionHeld], places: Iterable[PlaceHeld]) -> Iterator[str]:
    """Give the list as lines of Markdown: clauses by edition, then places."""
    yield "| code | section | clause | limit |"
    yield "| --- | --- | --- | --- |"
    for edition in editions:
        for clause in edition.clauses:
            if clause.from_memory:
                name = f"{clause.code} {clause.edition}"
                yield f"| {name} | {clause.section} | `{clause.key}` | {_limits(clause)} |"
    yield ""
    yield "Adoptions and amendments of places that were read in no copy:"
    yield ""
    for place in places:
        for period in place.periods:
            codes = ", ".join(f"{code} {edition}" for code, edition in period.codes)
            adopted = f"{place.name}, {codes} from {period.since.isoformat()}"
            if period.from_memory:
                yield f"- {adopted}"
            for key, change, recalled in period.amended:
                if recalled:
                    yield f"- {adopted}: `{key}`. {change}"


def _limits(clause: Clause) -> str:
    compared = clause.compare.replace("_", " ")
    limits = " to ".join(_limit(limit) for limit in clause.limits)
    return f"{compared} {limits}".strip()


def _limit(limit: Limit) -> str:
    return limit.value if limit.unit == "count" else f"{limit.value} {limit.unit}"

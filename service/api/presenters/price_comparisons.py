"""Several ways to do one job, each as its quote would say, beside the first."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import orjson

from service.api.presenters.figures import figures_in, present_differences
from service.api.presenters.values import Json, decimal, money
from service.api.problems import problem_of
from service.domain.compliance.findings import Outcome
from service.domain.errors import QuotingError
from service.domain.money import Money
from service.domain.pricing.changes import compare, percent
from service.usecases.quote_railing import Press, Quote

Document = Mapping[str, Any]


class Way(NamedTuple):
    """An alternative by its name: what it comes to, or why it cannot be had."""

    name: str
    result: Quote | QuotingError


def present_price_comparison(name: str, first: Quote, ways: Iterable[Way], press: Press) -> Json:
    """Give the first way and the others beside it.

    Args:
        name: Of the first way.
        first: What it comes to.
        ways: The others.
        press: Writes a quote down; what it writes is what is compared.
    """
    document = orjson.loads(press.document(first))
    return {
        "name": name,
        "offer": _offer(document),
        "alternatives": [_alternative(way, first, document, press) for way in ways],
    }


def _alternative(way: Way, first: Quote, before: Document, press: Press) -> Json:
    result = way.result
    if isinstance(result, QuotingError):
        nothing = {"offer": None, "difference": None, "changes": None}
        return {"name": way.name, "refused": problem_of(result), **nothing}
    after = orjson.loads(press.document(result))
    return {
        "name": way.name,
        "refused": None,
        "offer": _offer(after),
        "difference": _difference(first, result),
        "changes": _changes(before, after),
    }


def _offer(document: Document) -> Json:
    compliance = document["compliance"]
    return {
        "price_table": document["price_table"]["name"],
        "totals": document["totals"],
        "payments": document["payments"],
        "conditions": document["conditions"],
        "line_count": len(document["lines"]),
        "outcomes": compliance["outcomes"],
        "not_met": _not_met(compliance["findings"]),
        "cautions": document["cautions"],
    }


def _not_met(findings: Iterable[Mapping[str, Any]]) -> list[Json]:
    """Give each clause once, with the elements that do not meet it."""
    clauses: dict[tuple[str, str, str], list[str]] = {}
    for finding in findings:
        if finding["outcome"] == Outcome.NOT_MET:
            clause = (finding["clause"], finding["section"], finding["rule"])
            clauses.setdefault(clause, []).append(finding["element"])
    return [
        {"clause": key, "section": section, "rule": rule, "elements": elements}
        for (key, section, rule), elements in clauses.items()
    ]


def _difference(first: Quote, other: Quote) -> Json | None:
    was, now = first.totals, other.totals
    if was.gross.currency != now.gross.currency:
        return None
    share = percent(was.gross.amount, now.gross.amount)
    return {
        "net": money(_less(now.net, was.net)),
        "gross": money(_less(now.gross, was.gross)),
        "percent": None if share is None else decimal(share),
    }


def _less(now: Money, was: Money) -> Money:
    return Money(now.amount - was.amount, now.currency)


def _changes(before: Document, after: Document) -> Json | None:
    earlier, later = figures_in(before), figures_in(after)
    if earlier.currency != later.currency:
        return None
    changes = compare(earlier, later)
    return {
        "common_lines": changes.common(later),
        **present_differences(changes, later.currency),
    }

"""What is told of the revisions of a run.

Thousands of events differ in a few members only. One is written as every event is, and the others
are made from its bytes, so that they are the bytes that writing each would give.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from itertools import chain
from typing import Any
from uuid import uuid4

import orjson

from service.adapters.storage.cloud_events import cloud_event
from service.adapters.storage.copied_rows import is_plain
from service.adapters.storage.ids import Ids
from service.adapters.storage.light_records import Revised
from service.domain.money import minor_unit
from service.domain.pricing.life import State
from service.usecases.events import EventType
from service.usecases.repricing.records import Revisions, Run

Columns = Mapping[str, Sequence[Any]]


def repriced_events(dealer: str, run: Run, revised: Sequence[Revised], at: datetime) -> Columns:
    """Give the events of revisions; ids rise, so that those of one subject keep their order."""
    ids = Ids(at)
    told = _of_revisions(dealer, run, revised, at, ids)
    if run.wish.revisions is not Revisions.AS_BEFORE:
        return told
    issued = [one for one in revised if one.quote.decided == State.ISSUED.value]
    return _together(told, *_of_issued(dealer, issued, at, ids)) if issued else told


def repriced_detail(run: Run, one: Revised) -> dict[str, Any]:
    """Give what the event of a revision tells."""
    (before, after), result = _amounts(run, [one]), one.result
    as_before = run.wish.revisions is Revisions.AS_BEFORE
    return {
        "revises": result.quote_id,
        "series": one.quote.series,
        "revision": one.quote.revision + 1,
        "run": run.id,
        "state": one.quote.decided if as_before else State.DRAFT.value,
        "total_before": before[0],
        "total_after": after[0],
        "currency": run.prices.currency,
    }


def _of_revisions(
    dealer: str, run: Run, revised: Sequence[Revised], at: datetime, ids: Ids
) -> Columns:
    before, after = _amounts(run, revised)
    each: dict[str, Sequence[Any]] = {
        "revises": [one.result.quote_id for one in revised],
        "series": [one.quote.series for one in revised],
        "revision": [one.quote.revision + 1 for one in revised],
        "total_before": before,
        "total_after": after,
    }
    detail = repriced_detail(run, revised[0])
    if run.wish.revisions is Revisions.AS_BEFORE:
        each["state"] = [one.quote.decided for one in revised]
    subjects = [one.result.revision_id or "" for one in revised]
    return alike(dealer, EventType.QUOTE_REPRICED, at, subjects, detail | each, set(each), ids)


def _of_issued(
    dealer: str, issued: Sequence[Revised], at: datetime, ids: Ids
) -> tuple[Columns, Columns]:
    """Give what is told of revisions that are issued, and of the quotes they replace."""
    revisions = [one.result.revision_id or "" for one in issued]
    series = [one.quote.series for one in issued]
    begun = {
        "version": 1,
        "revision": [one.quote.revision + 1 for one in issued],
        "series": series,
    }
    gone = {
        "version": [one.quote.version + 1 for one in issued],
        "revision": [one.quote.revision for one in issued],
        "series": series,
        "replaced_by": revisions,
    }
    replaced = [one.result.quote_id for one in issued]
    of_each = {"revision", "series"}
    new = alike(dealer, EventType.QUOTE_ISSUED, at, revisions, begun, of_each, ids)
    return new, alike(dealer, EventType.QUOTE_REPLACED, at, replaced, gone, set(gone), ids)


def alike(
    dealer: str,
    kind: EventType,
    at: datetime,
    subjects: Sequence[str],
    detail: Mapping[str, Any],
    of_each: set[str],
    ids: Ids,
) -> Columns:
    """Give events of one kind and moment that differ in their subjects and some details.

    Args:
        dealer: Whose they are.
        kind: Of all.
        at: When.
        subjects: Of each.
        detail: By name, in order; a plain value holds for all.
        of_each: Names of those that are a sequence, one for each: texts or whole numbers.
        ids: Where their ids are from.
    """
    event_ids, mark = ids.take(len(subjects)), uuid4().hex
    values: dict[str, Sequence[Any]] = {"@": event_ids, "#": subjects}
    values |= {name: detail[name] for name in detail if name in of_each}
    marks = {name: f"{mark}{number}{mark}" for number, name in enumerate(values)}
    shown = {name: marks.get(name, detail[name]) for name in detail}
    sample = cloud_event(marks["@"], dealer, kind, at, marks["#"], shown).decode()
    pattern = sample.replace("%", "%%")
    for name in (name for name in values if not isinstance(values[name][0], str)):
        pattern = pattern.replace(f'"{marks[name]}"', marks[name])  # a number has no quotes
    names, place = list(values), re.compile(f"{mark}([0-9]+){mark}")
    order = [names[int(number)] for number in place.findall(pattern)]
    pattern = place.sub("%s", pattern)
    plain = {name: _plain(texts) for name, texts in values.items()}
    each = zip(*(plain[name] for name in order), strict=True)
    bodies = "\n".join([pattern % one for one in each])  # JSON has no such mark inside
    return {
        "id": event_ids,
        "type": [kind.value] * len(subjects),
        "subject": subjects,
        "body": bodies.encode().split(b"\n"),
    }


def _plain(values: Sequence[Any]) -> Sequence[Any]:
    """Give texts as they stand between the quotes of JSON: printable ASCII stands for itself."""
    if not isinstance(values[0], str):
        return values
    if is_plain("".join(values).encode(), besides=b'\n"\\'):
        return values
    return [orjson.dumps(value).decode()[1:-1] for value in values]


def _amounts(run: Run, revised: Sequence[Revised]) -> tuple[list[str], list[str]]:
    """Give the totals before and after as they are printed."""
    places = -int(minor_unit(run.prices.currency).as_tuple().exponent)
    before = [one.result.before for one in revised]
    after = [one.result.after or 0 for one in revised]
    return _printed(before, places), _printed(after, places)


def _printed(amounts: Sequence[int], places: int) -> list[str]:
    """Print amounts of minor units.

    Example:
        >>> _printed([7, 12345], 2), _printed([7, -7], 2), _printed([7], 0)
        (['0.07', '123.45'], ['0.07', '-0.07'], ['7'])
    """
    if not places or min(amounts) < 0:
        return [str(Decimal(minor).scaleb(-places)) for minor in amounts]
    one, pattern = 10**places, f"%d.%0{places}d"
    return [pattern % divmod(minor, one) for minor in amounts]


def _together(*parts: Columns) -> Columns:
    return {name: list(chain.from_iterable(part[name] for part in parts)) for name in parts[0]}

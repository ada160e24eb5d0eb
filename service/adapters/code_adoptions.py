"""What a place has adopted from which day, with its amendments applied."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from service.adapters.code_amendments import told
from service.adapters.code_clauses import read_clause
from service.adapters.code_files import EditionFile, EditionKey, read_sources
from service.adapters.data_files import (
    CodeFileError,
    Raw,
    read_flag,
    read_list,
    read_text,
    refuse_unknown,
)
from service.domain.compliance.findings import Clause
from service.domain.compliance.measurement import Measure


@dataclass(frozen=True, slots=True)
class InForce:
    """What a place has in force from a day on, amendments already applied.

    Attributes:
        codes: Code and edition of everything adopted.
        source: How the adoption and its day are known.
        from_memory: True where neither was read in any copy.
    """

    since: date
    clauses: tuple[Clause, ...]
    codes: tuple[EditionKey, ...]
    source: str
    from_memory: bool


@dataclass(frozen=True, slots=True)
class Adoption:
    """What one place adopted, earliest first."""

    place: str
    invented: bool
    note: str
    periods: tuple[InForce, ...]


def read_adoption(
    raw: Any, where: str, held: Mapping[EditionKey, EditionFile], measures: Mapping[str, Measure]
) -> Adoption:
    """Read the file of one place; where names it in refusals."""
    raw = refuse_unknown(raw, {"place", "in_force", "source"}, {"invented", "note"}, where)
    place = read_text(raw["place"], f"{where}: place")
    source = read_text(raw["source"], f"{where}: source")
    periods = tuple(
        _period(entry, place, source, where, held, measures)
        for entry in read_list(raw["in_force"], f"{where}: in_force")
    )
    if not periods:
        raise CodeFileError(f"{where}: missing in_force")
    days = [period.since for period in periods]
    if days != sorted(set(days)):
        raise CodeFileError(f"{where}: in_force: days must rise from entry to entry")
    invented = read_flag(raw.get("invented", False), f"{where}: invented")
    return Adoption(place, invented, read_text(raw.get("note", ""), f"{where}: note"), periods)


def _period(
    entry: Any,
    name: str,
    source: str,
    where: str,
    held: Mapping[EditionKey, EditionFile],
    measures: Mapping[str, Measure],
) -> InForce:
    """Read what came into force on one day."""
    may = {"amended", "sources", "source", "from_memory"}
    entry = refuse_unknown(entry, {"from", "codes"}, may, f"{where}: in_force")
    since = entry["from"]
    if not isinstance(since, date):
        raise CodeFileError(f"{where}: in_force: from must be a date")
    place = f"{where}: from {since.isoformat()}"
    known = read_text(entry.get("source", source), f"{place}: source")
    adopted = f"Adopted by {name} from {since.isoformat()}. {known}"
    clauses = tuple(
        replace(clause, adopted=adopted) for clause in _adopted(entry, name, place, held, measures)
    )
    codes = tuple(dict.fromkeys((clause.code, clause.edition) for clause in clauses))
    recalled = read_flag(entry.get("from_memory", False), f"{place}: from_memory")
    return InForce(since, clauses, codes, known, recalled)


def _editions_of(entry: Raw, where: str) -> dict[str, EditionKey]:
    """Give what is adopted, by code."""
    adopted = {}
    for one in read_list(entry["codes"], f"{where}: codes"):
        one = refuse_unknown(one, {"code", "edition"}, set(), f"{where}: codes")
        code, edition = (read_text(one[key], f"{where}: codes") for key in ("code", "edition"))
        adopted[code] = (code, edition)
    return adopted


def _adopted(
    entry: Raw,
    name: str,
    where: str,
    held: Mapping[EditionKey, EditionFile],
    measures: Mapping[str, Measure],
) -> Iterator[Clause]:
    """Give the clauses of the adopted editions, those that the place amended in its own form."""
    amended = _mapping(entry.get("amended", {}), f"{where}: amended")
    adopted = _editions_of(entry, where)
    unknown = sorted(str(key) for key in set(adopted.values()) - held.keys())
    if unknown or amended.keys() - adopted.keys():
        raise CodeFileError(f"{where}: adopts or amends what no file holds {', '.join(unknown)}")
    own_sources = read_sources(entry.get("sources", {}), where)
    for code, key in adopted.items():
        changes = _mapping(amended.get(code, {}), f"{where}: amended {code}")
        edition = held[key]
        for clause in edition.clauses:
            if clause.key not in changes:
                yield clause
        for clause_key, change in changes.items():
            place = f"{where}: {clause_key}"
            change = refuse_unknown(change, {"source"}, set(_mapping(change, place)), place)
            old = edition.raw.get(clause_key, {})
            deleted = "deleted" in change
            if deleted and change["deleted"] is not True:
                raise CodeFileError(
                    f"{place}: deleted: {change['deleted']!r} must be true or absent"
                )
            if deleted and not old:
                raise CodeFileError(f"{place}: deletes a clause that {code} does not have")
            new = {key: value for key, value in change.items() if key != "deleted"}
            yield read_clause(
                {**_amendable(old, change), **new}, clause_key, place, code=code,
                edition=edition.edition, sources={**edition.sources, **own_sources},
                measures=measures, asks=edition.asks, amended=told(name, old, change),
                deleted=deleted,
            )  # fmt: skip


def _mapping(raw: Any, where: str) -> Raw:
    """Give a mapping back whatever its keys, and so perhaps an empty one."""
    return refuse_unknown(raw, set(), set(raw) if isinstance(raw, dict) else set(), where)


def _amendable(raw: Raw, change: Raw) -> Raw:
    """Leave out of a model clause what the change replaces under another name."""
    limits = {"limit", "limits"}
    return {k: v for k, v in raw.items() if k not in limits or not limits & change.keys()}

"""What a place has adopted from which day, with its amendments applied."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from service.adapters.code_amendments import told
from service.adapters.code_clauses import CodeFileError, Raw, read_clause, refuse_unknown
from service.adapters.code_files import EditionFile, EditionKey, read_sources
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
    periods = []
    for entry in raw["in_force"]:
        may = {"amended", "sources", "source", "from_memory"}
        refuse_unknown(entry, {"from", "codes"}, may, f"{where}: in_force")
        if not isinstance(entry["from"], date):
            raise CodeFileError(f"{where}: in_force: from must be a date")
        place = f"{where}: from {entry['from'].isoformat()}"
        known = entry.get("source", raw["source"])
        adopted = f"Adopted by {raw['place']} from {entry['from'].isoformat()}. {known}"
        clauses = tuple(
            replace(clause, adopted=adopted)
            for clause in _adopted(entry, raw["place"], place, held, measures)
        )
        codes = tuple(dict.fromkeys((clause.code, clause.edition) for clause in clauses))
        recalled = bool(entry.get("from_memory", False))
        periods.append(InForce(entry["from"], clauses, codes, known, recalled))
    days = [period.since for period in periods]
    if days != sorted(set(days)):
        raise CodeFileError(f"{where}: in_force: days must rise from entry to entry")
    return Adoption(raw["place"], bool(raw.get("invented")), raw.get("note", ""), tuple(periods))


def _adopted(
    entry: Raw,
    name: str,
    where: str,
    held: Mapping[EditionKey, EditionFile],
    measures: Mapping[str, Measure],
) -> Iterator[Clause]:
    """Give the clauses of the adopted editions, those that the place amended in its own form."""
    amended = entry.get("amended", {})
    adopted = {one.get("code"): (one.get("code"), one.get("edition")) for one in entry["codes"]}
    unknown = sorted(str(key) for key in set(adopted.values()) - held.keys())
    if unknown or amended.keys() - adopted.keys():
        raise CodeFileError(f"{where}: adopts or amends what no file holds {', '.join(unknown)}")
    own_sources = read_sources(entry.get("sources", {}), where)
    for code, key in adopted.items():
        changes: Mapping[str, Raw] = amended.get(code, {})
        edition = held[key]
        for clause in edition.clauses:
            if clause.key not in changes:
                yield clause
        for clause_key, change in changes.items():
            place = f"{where}: {clause_key}"
            refuse_unknown(change, {"source"}, set(change), place)
            old = edition.raw.get(clause_key, {})
            deleted = change.get("deleted") is True
            if deleted and not old:
                raise CodeFileError(f"{place}: deletes a clause that {code} does not have")
            new = {key: value for key, value in change.items() if key != "deleted"}
            yield read_clause(
                {**_amendable(old, change), **new}, clause_key, place, code=code,
                edition=edition.edition, sources={**edition.sources, **own_sources},
                measures=measures, asks=edition.asks, amended=told(name, old, change),
                deleted=deleted,
            )  # fmt: skip


def _amendable(raw: Raw, change: Raw) -> Raw:
    """Leave out of a model clause what the change replaces under another name."""
    limits = {"limit", "limits"}
    return {k: v for k, v in raw.items() if k not in limits or not limits & change.keys()}

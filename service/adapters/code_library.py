"""Clauses of building codes from YAML files, and which of them are in force where and when.

``data/codes/<code>/<edition>.yaml`` holds one edition, or an overlay that binds beside another
code; ``data/adoptions/<place>.yaml`` says which of them a place has adopted from which day, and how
it amended them. Every file is read when the library is opened, so that a bad one stops the start.
"""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from service.adapters.code_clauses import CodeFileError, Raw, Sources, read_clause, refuse_unknown
from service.domain.compliance.findings import Clause
from service.domain.compliance.measurement import Measure
from service.domain.compliance.measures import MEASURES
from service.domain.errors import UnknownCode

DATA = Path(__file__).parent.parent / "data"

EditionKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class EditionFile:
    """One edition as its file gives it.

    Attributes:
        code, edition, title: What it is, such as "IRC", "2021" and its full name.
        overlay: True if it binds beside another code rather than in its place.
        sources: Title and address by the short name that clauses use.
        asks: Words its clauses depend on that no layout tells, such as an occupancy.
        raw: Clauses as written, by key, for places that amend them.
        clauses: The same as records, in the file's order.
    """

    code: str
    edition: str
    title: str
    overlay: bool
    sources: Sources
    asks: frozenset[str]
    raw: Mapping[str, Raw]
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class InForce:
    """What a place has in force from a day on, amendments already applied."""

    since: date
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class CodeLibrary:
    """Every clause held, by edition and by place.

    Attributes:
        held: Editions by code and edition, in the order of their files.
        places: What is in force in each place, earliest first, by its name in lower case.
        names: Places as their files print them.
    """

    held: Mapping[EditionKey, EditionFile]
    places: Mapping[str, tuple[InForce, ...]]
    names: tuple[str, ...]

    def editions(self) -> tuple[EditionKey, ...]:
        """Give code and edition of everything held."""
        return tuple(self.held)

    def clauses(self, code: str, edition: str) -> tuple[Clause, ...]:
        """Give the clauses of one edition, in the order of its file.

        Raises:
            UnknownCode: No such code and edition is held.
        """
        for key, held in self.held.items():
            if key == (code.upper(), edition):
                return held.clauses
        listed = ", ".join(f"{code} {edition}" for code, edition in self.held)
        raise UnknownCode(
            f"No file holds the code {code} {edition}.",
            where=("code",),
            advice=f"Held are: {listed}.",
        )

    def in_force(self, place: str, on: date) -> tuple[Clause, ...]:
        """Give the clauses in force in a place on a day, as the place amended them.

        Raises:
            UnknownCode: The place is not held, or nothing was in force there yet.
        """
        periods = self.places.get(place.strip().lower())
        if periods is None:
            raise UnknownCode(
                f"No file says which code is in force in {place}.",
                where=("code", "place"),
                advice=f"Name a code and edition, or one of: {', '.join(self.names)}.",
            )
        past = [period for period in periods if period.since <= on]
        if not past:
            raise UnknownCode(
                f"Nothing held was in force in {place} on {on.isoformat()}.",
                where=("code", "place"),
                advice=f"The earliest day held is {periods[0].since.isoformat()}.",
            )
        return past[-1].clauses


def open_library(data: Path = DATA, measures: Mapping[str, Measure] = MEASURES) -> CodeLibrary:
    """Read every file of clauses and adoptions.

    Args:
        data: Directory that holds ``codes`` and ``adoptions``.
        measures: Ways of measuring that a clause may name.

    Raises:
        CodeFileError: A file holds something that is not understood; it names file and key.
    """
    held: dict[EditionKey, EditionFile] = {}
    for path in sorted((data / "codes").glob("*/*.yaml")):
        edition = _read_edition(path, path.relative_to(data).as_posix(), measures)
        held[edition.code, edition.edition] = edition
    if not held:
        raise CodeFileError(f"{data / 'codes'}: holds no codes")
    places: dict[str, tuple[InForce, ...]] = {}
    names = []
    for path in sorted((data / "adoptions").glob("*.yaml")):
        where = path.relative_to(data).as_posix()
        name, periods = _read_adoption(_load(path, where), where, held, measures)
        if name.lower() in places:
            raise CodeFileError(f"{where}: {name} is already held by another file")
        places[name.lower()] = periods
        names.append(name)
    return CodeLibrary(held, places, tuple(names))


class _NoDuplicates(yaml.SafeLoader):
    """A YAML loader that refuses a key given twice."""

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Hashable, Any]:
        seen: set[Any] = set()
        for key_node, _value in node.value:
            key = self.construct_object(key_node, deep=True)
            if key in seen:
                line = key_node.start_mark.line + 1
                raise CodeFileError(f"{key} is given twice, the second time in line {line}")
            seen.add(key)
        return super().construct_mapping(node, deep)


def _load(path: Path, where: str) -> Any:
    try:
        # The loader is a safe one: it builds plain data only.
        return yaml.load(path.read_text(encoding="utf-8"), Loader=_NoDuplicates)  # noqa: S506
    except (yaml.YAMLError, CodeFileError) as reason:
        raise CodeFileError(f"{where}: {reason}") from reason


def _read_edition(path: Path, where: str, measures: Mapping[str, Measure]) -> EditionFile:
    raw = refuse_unknown(
        _load(path, where), {"code", "edition", "title", "sources", "clauses"},
        {"overlay", "note", "asks"}, where,
    )  # fmt: skip
    code, edition = raw["code"], raw["edition"]
    if (str(code).lower(), edition) != (path.parent.name, path.stem) or code != str(code).upper():
        raise CodeFileError(f"{where}: holds {code} {edition!r}, which is not what its name says")
    sources, asks = _read_sources(raw["sources"], where), frozenset(raw.get("asks", []))
    if not isinstance(raw["clauses"], dict):
        raise CodeFileError(f"{where}: clauses: a mapping is expected here")
    clauses = tuple(
        read_clause(one, key, f"{where}: {key}", code=code, edition=edition, sources=sources,
                    measures=measures, asks=asks)
        for key, one in raw["clauses"].items()
    )  # fmt: skip
    return EditionFile(
        code,
        edition,
        raw["title"],
        bool(raw.get("overlay")),
        sources,
        asks,
        raw["clauses"],
        clauses,
    )


def _read_sources(raw: Any, where: str) -> Sources:
    sources = {}
    if not isinstance(raw, dict):
        raise CodeFileError(f"{where}: sources: a mapping is expected here")
    for name, source in raw.items():
        refuse_unknown(source, {"title", "address"}, set(), f"{where}: sources {name}")
        sources[name] = f"{source['title']} ({source['address']})"
    return sources


def _read_adoption(
    raw: Any, where: str, held: Mapping[EditionKey, EditionFile], measures: Mapping[str, Measure]
) -> tuple[str, tuple[InForce, ...]]:
    raw = refuse_unknown(raw, {"place", "in_force", "source"}, {"invented", "note"}, where)
    periods = []
    for entry in raw["in_force"]:
        refuse_unknown(entry, {"from", "codes"}, {"amended", "sources"}, f"{where}: in_force")
        if not isinstance(entry["from"], date):
            raise CodeFileError(f"{where}: in_force: from must be a date")
        place = f"{where}: from {entry['from'].isoformat()}"
        clauses = tuple(_adopted(entry, raw["place"], place, held, measures))
        periods.append(InForce(entry["from"], clauses))
    days = [period.since for period in periods]
    if days != sorted(set(days)):
        raise CodeFileError(f"{where}: in_force: days must rise from entry to entry")
    return raw["place"], tuple(periods)


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
    own_sources = _read_sources(entry.get("sources", {}), where)
    for code, key in adopted.items():
        changes: Mapping[str, Raw] = amended.get(code, {})
        edition = held[key]
        for clause in edition.clauses:
            if clause.key not in changes:
                yield clause
        for clause_key, change in changes.items():
            place = f"{where}: {clause_key}"
            refuse_unknown(change, {"source"}, set(change), place)
            if change.get("deleted") is True:
                if clause_key not in edition.raw:
                    raise CodeFileError(f"{place}: deletes a clause that {code} does not have")
                continue
            yield read_clause(
                {**_amendable(edition.raw.get(clause_key, {}), change), **change}, clause_key,
                place, code=code, edition=edition.edition,
                sources={**edition.sources, **own_sources}, measures=measures,
                asks=edition.asks, amended=f"Amended by {name}.",
            )  # fmt: skip


def _amendable(raw: Raw, change: Raw) -> Raw:
    """Leave out of a model clause what the change replaces under another name."""
    limits = {"limit", "limits"}
    return {k: v for k, v in raw.items() if k not in limits or not limits & change.keys()}

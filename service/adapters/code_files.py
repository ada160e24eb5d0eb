"""One YAML file of clauses, read whole or refused."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import yaml

from service.adapters.code_clauses import read_clause
from service.adapters.data_files import (
    CodeFileError,
    Raw,
    Sources,
    read_flag,
    read_list,
    read_text,
    refuse_unknown,
)
from service.domain.compliance.findings import Clause
from service.domain.compliance.measurement import Measure

EditionKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class EditionFile:
    """One edition as its file gives it.

    Attributes:
        code, edition, title: What it is, such as "IRC", "2021" and its full name.
        note: What a reader of its clauses should know.
        overlay: True if it binds beside another code rather than in its place.
        sources: Title and address by the short name that clauses use.
        asks: Words its clauses depend on that no layout tells, such as an occupancy.
        raw: Clauses as written, by key, for places that amend them.
        clauses: The same as records, in the file's order.
    """

    code: str
    edition: str
    title: str
    note: str
    overlay: bool
    sources: Sources
    asks: frozenset[str]
    raw: Mapping[str, Raw]
    clauses: tuple[Clause, ...]


if TYPE_CHECKING:
    _Safe = yaml.SafeLoader
else:  # libyaml's parser, where PyYAML was built with it: all codes in a sixth of the time
    _Safe = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _NoDuplicates(_Safe):
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


def load_yaml(path: Path, where: str) -> Any:
    """Read a YAML file, refusing a key given twice."""
    try:
        # The loader is a safe one: it builds plain data only.
        return yaml.load(path.read_text(encoding="utf-8"), Loader=_NoDuplicates)  # noqa: S506
    except (yaml.YAMLError, CodeFileError, OSError, UnicodeDecodeError) as reason:
        raise CodeFileError(f"{where}: {reason}") from reason


def read_edition(path: Path, where: str, measures: Mapping[str, Measure]) -> EditionFile:
    """Read the file of one edition; where names it in refusals."""
    raw = refuse_unknown(
        load_yaml(path, where), {"code", "edition", "title", "sources", "clauses"},
        {"overlay", "note", "asks"}, where,
    )  # fmt: skip
    code, edition = raw["code"], raw["edition"]
    if (str(code).lower(), edition) != (path.parent.name, path.stem) or code != str(code).upper():
        raise CodeFileError(f"{where}: holds {code} {edition!r}, which is not what its name says")
    sources = read_sources(raw["sources"], where)
    asks = frozenset(
        read_text(word, f"{where}: asks")
        for word in read_list(raw.get("asks", []), f"{where}: asks")
    )
    if not isinstance(raw["clauses"], dict):
        raise CodeFileError(f"{where}: clauses: a mapping is expected here")
    clauses = tuple(
        read_clause(one, key, f"{where}: {key}", code=code, edition=edition, sources=sources,
                    measures=measures, asks=asks)
        for key, one in raw["clauses"].items()
    )  # fmt: skip
    _check_needs(clauses, where, measures)
    return EditionFile(
        code,
        edition,
        read_text(raw["title"], f"{where}: title"),
        read_text(raw.get("note", ""), f"{where}: note"),
        read_flag(raw.get("overlay", False), f"{where}: overlay"),
        sources,
        asks,
        raw["clauses"],
        clauses,
    )


def _check_needs(clauses: tuple[Clause, ...], where: str, measures: Mapping[str, Measure]) -> None:
    """Refuse a clause on what is needed whose measure cannot tell whether it is needed."""
    decided_by = {clause.decides: clause.decides_by for clause in clauses if clause.decides}
    for clause in clauses:
        for need in clause.applies_when.keys() & decided_by.keys():
            if decided_by[need] not in measures[clause.measure].attributes:
                raise CodeFileError(
                    f"{where}: {clause.key}: its measure does not tell the {decided_by[need]} that "
                    f"decides whether a {need} is required"
                )


def read_sources(raw: Any, where: str) -> Sources:
    """Give title and address of each source by its short name."""
    sources = {}
    if not isinstance(raw, dict):
        raise CodeFileError(f"{where}: sources: a mapping is expected here")
    for name, source in raw.items():
        place = f"{where}: sources {name}"
        refuse_unknown(source, {"title", "address"}, set(), place)
        title, address = (read_text(source[key], place) for key in ("title", "address"))
        sources[name] = f"{title} ({address})"
    return sources

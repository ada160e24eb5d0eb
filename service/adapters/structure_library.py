"""Alloys, timber species and lag screws from YAML files, as strictly read as the codes.

Each file under ``data/structure`` holds rows by name; each value of a row names where it was read,
or says that it is from memory. A bad file stops the start and names file and key.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from service.adapters.code_files import load_yaml, read_sources
from service.adapters.data_files import (
    CodeFileError,
    Raw,
    Sources,
    read_text,
    refuse_unknown,
    titles_of,
)
from service.domain.lengths import mm_of
from service.domain.structure.checks import Unit
from service.domain.structure.materials import Alloy, Cited, LagThread, Materials, Species
from service.quantities import UnreadableLength, UnreadableQuantity, length_of, parse_quantity

DATA = Path(__file__).parent.parent / "data" / "structure"
Record = TypeVar("Record")


@dataclass(frozen=True, slots=True)
class _Row:
    """The values of one row, by key, and where they come from."""

    name: str
    values: Mapping[str, float]
    cited: Cited


def open_structure_library(data: Path = DATA) -> Materials:
    """Read every file of materials.

    Raises:
        CodeFileError: A file holds something that is not understood; it names file and key.
    """
    alloys = _read(
        data / "alloys.yaml",
        {"e": Unit.STRESS, "f_ty": Unit.STRESS, "f_tu": Unit.STRESS},
        {"welded_f_ty": Unit.STRESS, "welded_f_tu": Unit.STRESS},
        _alloy,
    )
    species = _read(
        data / "timber.yaml", {"gravity": Unit.NUMBER}, {"f_c_perp": Unit.STRESS}, _species
    )
    screws = _read(
        data / "lag_screws.yaml",
        {"diameter": Unit.LENGTH, "root": Unit.LENGTH, "tip": Unit.LENGTH},
        {},
        _thread,
    )
    threads = {round(thread.diameter_mm * 1_000_000): thread for thread in screws.values()}
    if len(threads) < len(screws):
        raise CodeFileError("lag_screws.yaml: a diameter is given twice")
    return Materials(alloys, species, threads)


def _alloy(row: _Row) -> Alloy:
    values = row.values
    return Alloy(
        row.name, values["e"], values["f_ty"], values["f_tu"],
        values.get("welded_f_ty"), values.get("welded_f_tu"), row.cited,
    )  # fmt: skip


def _species(row: _Row) -> Species:
    return Species(row.name, row.values["gravity"], row.values.get("f_c_perp"), row.cited)


def _thread(row: _Row) -> LagThread:
    values = row.values
    return LagThread(values["diameter"], values["root"], values["tip"], row.cited)


def _read(
    path: Path, must: Mapping[str, Unit], may: Mapping[str, Unit], record: Callable[[_Row], Record]
) -> dict[str, Record]:
    """Read one file whole, each row as a record, by the row's name."""
    where = path.name
    raw = refuse_unknown(load_yaml(path, where), {"title", "sources", "rows"}, set(), where)
    read_text(raw["title"], f"{where}: title")
    sources = read_sources(raw["sources"], where)
    if not isinstance(raw["rows"], dict):
        raise CodeFileError(f"{where}: rows: a mapping is expected here")
    kinds = {**must, **may}
    return {
        str(name): record(
            _row(str(name), refuse_unknown(row, set(must), set(may), f"{where}: {name}"), kinds,
                 sources, f"{where}: {name}")
        )
        for name, row in raw["rows"].items()
    }  # fmt: skip


def _row(name: str, raw: Raw, kinds: Mapping[str, Unit], sources: Sources, where: str) -> _Row:
    values, named, recalled = {}, [], set()
    for key, value in raw.items():
        place = f"{where}: {key}"
        measured = kinds[key] is not Unit.NUMBER
        refuse_unknown(
            value, {"value", *(["unit"] if measured else [])}, {"where", "from_memory"}, place
        )
        values[key] = _value(value, kinds[key], place)
        if value.get("from_memory") is True and "where" not in value:
            recalled.add(key)
        elif value.get("where") and "from_memory" not in value:
            named += titles_of(value["where"], sources, place)
        else:
            raise CodeFileError(f"{place}: missing its source: give where, or from_memory: true")
    return _Row(name, values, Cited("; ".join(dict.fromkeys(named)), frozenset(recalled)))


def _value(raw: Raw, kind: Unit, where: str) -> float:
    text, unit = read_text(raw["value"], where), read_text(raw.get("unit", ""), where)
    try:
        if kind is Unit.LENGTH:
            value = mm_of(length_of(text, unit))
        elif kind is Unit.NUMBER:
            value = float(text)
        else:
            value = parse_quantity(f"{text} {unit}", kind)
    except (UnreadableLength, UnreadableQuantity, ValueError) as reason:
        raise CodeFileError(f"{where}: {reason}") from reason
    if not value > 0:
        raise CodeFileError(f"{where}: {text} must be more than zero")
    return value

"""Every data file held, spoilt in each way: the start stops, and file and key are named."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from service import app as application
from service.adapters.code_adoptions import read_adoption
from service.adapters.code_files import load_yaml, read_edition
from service.adapters.code_library import DATA, open_library
from service.adapters.data_files import CodeFileError
from service.adapters.structure_library import open_structure_library
from service.app import create_app
from service.domain.compliance.measures import MEASURES
from service.settings import Settings

CODES = sorted((DATA / "codes").glob("*/*.yaml"))
PLACES = sorted((DATA / "adoptions").glob("*.yaml"))
MATERIALS = sorted((DATA / "structure").glob("*.yaml"))
HELD = open_library().held
Spoil = Callable[[dict[str, Any]], None]


def _first_with(clauses: dict[str, Any], member: str) -> tuple[str, dict[str, Any]]:
    return next((key, clause) for key, clause in clauses.items() if member in clause)


def _put(member: str, value: Any, beside: str = "limit") -> Callable[[dict[str, Any]], str]:
    """Put a value into the first clause that has the member beside it; give the clause's key."""

    def spoil(content: dict[str, Any]) -> str:
        key, clause = _first_with(content["clauses"], beside)
        clause[member] = value
        return key

    return spoil


def _drop_source(content: dict[str, Any]) -> str:
    key, clause = _first_with(content["clauses"], "limit")
    del clause["source"]
    return key


def _wrong_unit(content: dict[str, Any]) -> str:
    """Give the first limit that is a length a force instead."""
    for key, clause in content["clauses"].items():
        if clause.get("limit", {}).get("unit") in ("in", "mm") and "missing" not in clause:
            clause["limit"] = {"value": "5", "unit": "lb"}
            return str(key)
    raise AssertionError("no length to spoil")


OF_CODES = [
    pytest.param(_put("limmit", {}), "unknown key limmit", id="unknown key"),
    pytest.param(_drop_source, "missing source", id="missing source"),
    pytest.param(_put("measure", "vibes"), "unknown measure vibes", id="unknown measure"),
    pytest.param(_put("limit", {"value": "5", "unit": "cubit"}), "unknown unit cubit",
                 id="unknown unit"),
    pytest.param(_wrong_unit, "measures a length, not a force", id="wrong unit"),
    pytest.param(_put("decides", {"need": "gaurd", "by": "drop"}, beside="decides"),
                 "unknown need gaurd", id="unknown need"),
]  # fmt: skip


def _name(path: Path) -> str:
    return path.relative_to(DATA).as_posix()


@pytest.mark.parametrize(("spoil", "words"), OF_CODES)
@pytest.mark.parametrize("path", CODES, ids=_name)
def test_spoilt_code_is_refused(
    tmp_path: Path, path: Path, spoil: Callable[[dict[str, Any]], str], words: str
) -> None:
    content = yaml.safe_load(path.read_text())
    try:
        key = spoil(content)
    except StopIteration:
        pytest.skip("nothing of this kind in the file")
    copy = tmp_path / path.parent.name / path.name
    copy.parent.mkdir()
    copy.write_text(yaml.safe_dump(content))
    with pytest.raises(CodeFileError, match=words) as refused:
        read_edition(copy, _name(path), MEASURES)
    assert str(refused.value).startswith(f"{_name(path)}: {key}: ")


def _place(content: dict[str, Any], words: str, where: str) -> None:
    with pytest.raises(CodeFileError, match=words) as refused:
        read_adoption(content, where, HELD, MEASURES)
    assert str(refused.value).startswith(f"{where}: ")


@pytest.mark.parametrize("path", PLACES, ids=_name)
def test_spoilt_adoption_is_refused(path: Path) -> None:
    for spoil, words in (
        (lambda c: c.update(mayor="me"), "unknown key mayor"),
        (lambda c: c.pop("source"), "missing source"),
        (lambda c: c["in_force"][0].update(until=1), "unknown key until"),
        (lambda c: c["in_force"][0]["codes"][0].update(edition="1066"), "what no file holds"),
        (lambda c: c["in_force"][0].update({"from": "soon"}), "from must be a date"),
    ):
        content = yaml.safe_load(path.read_text())
        spoil(content)
        _place(content, words, _name(path))


def _amendments() -> Iterator[Any]:
    for path in PLACES:
        for number, period in enumerate(yaml.safe_load(path.read_text())["in_force"]):
            for code, changes in period.get("amended", {}).items():
                for key in changes:
                    yield pytest.param(path, number, code, key, id=f"{_name(path)} {key} {number}")


@pytest.mark.parametrize(("path", "number", "code", "key"), list(_amendments()))
def test_spoilt_amendment_is_refused(path: Path, number: int, code: str, key: str) -> None:
    for change, words in (
        ({"source": None}, f"{key}: missing source"),
        ({"measure": "vibes"}, f"{key}: unknown measure vibes"),
        ({"limmit": 1}, f"{key}: unknown key limmit"),
        ({"limit": {"value": "5", "unit": "cubit"}}, f"{key}: unknown unit cubit"),
    ):
        content = yaml.safe_load(path.read_text())
        amended = content["in_force"][number]["amended"][code][key]
        if "limits" in amended and "limit" in change:
            del amended["limits"]
        amended.update(change)
        if amended.get("deleted") and "limit" in change:
            continue  # a struck-out clause keeps no limit
        _place(content, words, _name(path))


@pytest.mark.parametrize("path", [*CODES, *PLACES, *MATERIALS], ids=_name)
def test_key_given_twice_is_refused(tmp_path: Path, path: Path) -> None:
    """Once at the top of the file, once in the last of its mappings."""
    lines = path.read_text().rstrip("\n").split("\n")
    top = next(line for line in lines if line and not line.startswith((" ", "#")))
    last = next(line for line in reversed(lines) if ": " in line and "-" not in line.split(":")[0])
    for line in (top, last):
        copy = tmp_path / path.name
        copy.write_text("\n".join([*lines, line]))
        key = line.split(":")[0].strip()
        with pytest.raises(CodeFileError, match=f"{_name(path)}: {key} is given twice"):
            load_yaml(copy, _name(path))


@pytest.mark.parametrize("path", MATERIALS, ids=_name)
def test_spoilt_materials_are_refused(tmp_path: Path, path: Path) -> None:
    for spoil, words in (
        (lambda value: value.update(colour="red"), "unknown key colour"),
        (lambda value: [value.pop(name, None) for name in ("where", "from_memory")],
         "missing its source"),
        (lambda value: value.update(value="-1"), r"-1.* (is not read|is negative|more than zero)"),
        (lambda value: value.update(unit="cubit"), "cubit|unknown key unit"),
    ):  # fmt: skip
        data = tmp_path / "structure"
        shutil.copytree(DATA / "structure", data, dirs_exist_ok=True)
        content = yaml.safe_load(path.read_text())
        row, values = next(iter(content["rows"].items()))
        member = next(iter(values))
        spoil(values[member])
        (data / path.name).write_text(yaml.safe_dump(content))
        with pytest.raises(CodeFileError, match=words) as refused:
            open_structure_library(data)
        assert str(refused.value).startswith(f"{path.name}: {row}: {member}: ")


def test_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    spoilt = tmp_path / "x.yaml"
    spoilt.write_bytes(b"\xff\xfe\x00code")
    with pytest.raises(CodeFileError, match=r"^x\.yaml: "):
        load_yaml(spoilt, "x.yaml")
    with pytest.raises(CodeFileError, match=r"^gone\.yaml: "):
        load_yaml(tmp_path / "gone.yaml", "gone.yaml")


def test_start_stops_with_file_and_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = tmp_path / "data"
    shutil.copytree(DATA, data)
    code = data / "codes" / "irc" / "2021.yaml"
    code.write_text(code.read_text().replace("    measure: guard_needs", "    measure: vibes"))
    monkeypatch.setattr(application, "open_library", lambda: open_library(data))
    settings = Settings(database_url=f"sqlite:///{tmp_path / 'any.sqlite'}")
    refused = r"^codes/irc/2021.yaml: guard.needed.drop: unknown measure vibes$"
    with pytest.raises(CodeFileError, match=refused):
        create_app(settings)

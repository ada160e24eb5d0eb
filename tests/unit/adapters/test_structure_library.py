"""Materials from data files: those held load, bad ones are refused with file and key."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from service.adapters.data_files import (
    CodeFileError,
)
from service.adapters.structure_library import DATA, open_structure_library
from service.domain.structure.materials import Materials


@pytest.fixture
def change(tmp_path: Path) -> Callable[..., Materials]:
    """Open the files held with one of them changed."""

    def changed(name: str, edit: Callable[[Any], None] | str) -> Materials:
        data = tmp_path / "structure"
        shutil.copytree(DATA, data)
        path = data / name
        if isinstance(edit, str):
            path.write_text(edit)
        else:
            content = yaml.safe_load(path.read_text())
            edit(content)
            path.write_text(yaml.safe_dump(content))
        return open_structure_library(data)

    return changed


def test_every_value_is_sourced_or_said_to_be_from_memory() -> None:
    library = open_structure_library()
    rows = [*library.alloys.values(), *library.species.values(), *library.lag_threads.values()]
    assert len(rows) == 19
    assert all(row.cited.source or row.cited.from_memory for row in rows)
    assert library.alloys["6063-T6"].cited.from_memory == {"e", "welded_f_ty", "welded_f_tu"}


ROW = "6063-T6"


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda d: d.update(extra=1), "alloys.yaml: unknown key extra"),
        (lambda d: d["rows"][ROW].update(g={}), f"alloys.yaml: {ROW}: unknown key g"),
        (lambda d: d["rows"][ROW].pop("f_ty"), f"alloys.yaml: {ROW}: missing f_ty"),
        (lambda d: d["rows"][ROW]["f_ty"].pop("where"), f"alloys.yaml: {ROW}: f_ty: missing its"),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(from_memory=True),
            f"alloys.yaml: {ROW}: f_ty: missing its source",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(where=["Z9"]),
            f"alloys.yaml: {ROW}: f_ty: source Z9 is not listed",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(unit="in"),
            f"alloys.yaml: {ROW}: f_ty: '25 in' is not read",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(value=25),
            f"alloys.yaml: {ROW}: f_ty: 25 must be text",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(value="0"),
            f"alloys.yaml: {ROW}: f_ty: '0 ksi' is not read",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(where="A1"),
            f"alloys.yaml: {ROW}: f_ty: where must be a list",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(where=[["A1"]]),
            f"alloys.yaml: {ROW}: f_ty: .* must be text",
        ),
        (
            lambda d: d["rows"][ROW]["f_ty"].update(unit=["ksi"]),
            f"alloys.yaml: {ROW}: f_ty: .* must be text",
        ),
        (lambda d: d.update(sources={}), "alloys.yaml: missing sources"),
        (lambda d: d.update(rows=[1]), "alloys.yaml: rows: a mapping"),
    ],
)
def test_bad_alloys_are_refused(
    change: Callable[..., Materials], edit: Callable[[Any], None], words: str
) -> None:
    with pytest.raises(CodeFileError, match=words):
        change("alloys.yaml", edit)


@pytest.mark.parametrize("value", ["nan", "0", "-0.4", "thick"])
def test_bad_gravity_is_refused(change: Callable[..., Materials], value: str) -> None:
    def edit(content: Any) -> None:
        content["rows"]["Redwood"]["gravity"]["value"] = value

    with pytest.raises(CodeFileError, match=r"timber.yaml: Redwood: gravity"):
        change("timber.yaml", edit)


def test_a_row_given_twice_is_refused(change: Callable[..., Materials]) -> None:
    text = (DATA / "timber.yaml").read_text()
    twice = text + '  Redwood:\n    gravity: {value: "0.4", where: [T1]}\n'
    with pytest.raises(CodeFileError, match=r"timber.yaml: Redwood is given twice"):
        change("timber.yaml", twice)


def test_a_diameter_given_twice_is_refused(change: Callable[..., Materials]) -> None:
    def edit(content: Any) -> None:
        content["rows"]["9.525 mm"] = content["rows"]["3/8 in"]

    with pytest.raises(CodeFileError, match="a diameter is given twice"):
        change("lag_screws.yaml", edit)

"""What DEVELOPERS.md lists as to be confirmed against print is what the data says."""

from pathlib import Path

import pytest

from service.adapters.code_library import open_library
from service.adapters.documents.print_list import END, START, MarksMissing, with_print_list

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
LIBRARY = open_library()


def _anew(text: str) -> str:
    return with_print_list(text, LIBRARY.editions_held(), LIBRARY.places_held())


def test_the_list_is_as_the_data_says() -> None:
    text = DEVELOPERS.read_text(encoding="utf-8")
    assert text == _anew(text), "write it anew: evenbay confirm DEVELOPERS.md"


def test_every_clause_from_memory_is_listed_once_and_no_other() -> None:
    lines = _anew(f"{START}\n{END}").splitlines()
    listed = [line for line in lines if line.startswith("| ") and "`" in line]
    assert sum("New Jersey" in line for line in lines) == 2
    from_memory = [
        clause for held in LIBRARY.editions_held() for clause in held.clauses if clause.from_memory
    ]
    assert len(listed) == len(from_memory) > 40
    for line, clause in zip(listed, from_memory, strict=True):
        assert f"`{clause.key}`" in line
        assert f"| {clause.code} {clause.edition} |" in line


def test_a_text_without_marks_is_refused() -> None:
    with pytest.raises(MarksMissing, match="needs the lines"):
        _anew("no marks here")

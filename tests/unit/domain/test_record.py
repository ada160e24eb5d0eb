"""Records: frozen to the type checker, and to Python like a frozen dataclass but for assignment."""

from dataclasses import asdict, dataclass, fields, replace

from mypy import api

from service.domain.record import record


@dataclass(frozen=True, slots=True)
class Frozen:
    name: str
    length_nm: int = 0


@record(frozen=True, slots=True)
class Quick:
    name: str
    length_nm: int = 0


def test_a_record_is_hashed_compared_and_copied_as_a_frozen_dataclass_is() -> None:
    frozen, quick = Frozen("S1", 5), Quick("S1", 5)
    assert hash(quick) == hash(frozen)
    assert {quick, Quick("S1", 5), replace(quick, length_nm=6)} == {quick, Quick("S1", 6)}
    assert [f.name for f in fields(Quick)] == [f.name for f in fields(Frozen)]
    assert (asdict(quick), repr(quick)) == (asdict(frozen), repr(frozen).replace("Frozen", "Quick"))
    assert not hasattr(quick, "__dict__")


def test_the_type_checker_refuses_to_change_a_record(tmp_path) -> None:
    written = tmp_path / "changes.py"
    written.write_text(
        "from service.domain.cutting.plan import Remnant\n"
        "remnant = Remnant('top rail remnant 1', 5)\n"
        "remnant.length_nm = 6\n"
    )
    apart = f"--cache-dir={tmp_path / 'cache'}"
    told, _, status = api.run(["--strict", "--follow-imports=silent", apart, str(written)])
    assert status == 1
    assert told.startswith(f"{written}:3: error: ")
    assert "read-only" in told

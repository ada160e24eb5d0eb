"""Data files of codes and adoptions: those held load, bad ones are refused with file and key."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from service.adapters.code_library import DATA, CodeLibrary, open_library
from service.adapters.data_files import (
    CodeFileError,
)
from service.domain.compliance.findings import Comparison, Dimension
from service.domain.errors import UnknownCode
from service.domain.lengths import inches, millimetres

LIBRARY = open_library()


def _clause() -> dict[str, Any]:
    return {
        "section": "1.1",
        "rule": "A guard is at least this high.",
        "measure": "guard_heights",
        "compare": "at_least",
        "limit": {"value": "36", "unit": "in"},
        "source": {"where": ["A"], "seen": "Invented.", "verified_on": date(2026, 11, 25)},
        "from_memory": False,
        "named_text_seen": True,
        "editions_seen": ["1"],
    }


def _file(clause: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "code": "XYZ",
        "edition": "1",
        "title": "Invented code",
        "sources": {"A": {"title": "Invented source", "address": "nowhere"}},
        "clauses": {"guard.height": clause or _clause()},
    }


def _adoption(**entry: Any) -> dict[str, Any]:
    first = {"from": date(2020, 1, 1), "codes": [{"code": "XYZ", "edition": "1"}], **entry}
    return {"place": "Nowhere", "source": "Invented.", "in_force": [first]}


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., CodeLibrary]:
    """Write a library of one code file, and perhaps an adoption, and open it."""

    def write_and_open(
        code: dict[str, Any] | str, adoption: dict[str, Any] | None = None
    ) -> CodeLibrary:
        path = tmp_path / "codes" / "xyz" / "1.yaml"
        path.parent.mkdir(parents=True)
        path.write_text(code if isinstance(code, str) else yaml.safe_dump(code))
        if adoption:
            (tmp_path / "adoptions").mkdir()
            (tmp_path / "adoptions" / "nowhere.yaml").write_text(yaml.safe_dump(adoption))
        return open_library(tmp_path)

    return write_and_open


def test_every_file_held_loads() -> None:
    files = {p.relative_to(DATA / "codes").as_posix() for p in DATA.glob("codes/*/*.yaml")}
    held = {f"{code.lower()}/{edition}.yaml" for code, edition in LIBRARY.editions()}
    assert held == files
    assert ("IRC", "2021") in LIBRARY.editions()


@pytest.mark.parametrize("edition", LIBRARY.editions(), ids=" ".join)
def test_every_clause_cites_and_dates_its_source(edition: tuple[str, str]) -> None:
    for clause in LIBRARY.clauses(*edition):
        assert "Checked 20" in clause.source, clause.key
        assert clause.section, clause.key
        assert clause.from_memory or clause.editions_seen, clause.key


@pytest.mark.parametrize(
    ("key", "compare", "base"),
    [
        ("guard.needed.drop", Comparison.MORE_THAN, [inches(30)]),
        ("guard.height.level", Comparison.AT_LEAST, [inches(36)]),
        ("guard.height.stair", Comparison.AT_LEAST, [inches(34)]),
        ("guard.height.as_handrail", Comparison.WITHIN, [inches(34), inches(38)]),
        ("guard.opening.level", Comparison.LESS_THAN, [inches(4)]),
        ("guard.opening.stair_triangle", Comparison.LESS_THAN, [inches(6)]),
        ("guard.opening.stair_side", Comparison.LESS_THAN, [inches(4, 3, 8)]),
        ("stair.width.one_rail", Comparison.AT_LEAST, [inches(31, 1, 2)]),
        ("stair.riser", Comparison.AT_MOST, [inches(7, 3, 4)]),
        ("stair.slope", Comparison.AT_MOST, [3_600_000 // 48]),
        ("handrail.needed", Comparison.AT_LEAST, [4]),
    ],
)
def test_limits_come_from_the_value_as_enacted(
    key: str, compare: Comparison, base: list[int]
) -> None:
    """Values of the IRC 2021 as the files' own sources give them, in inches."""
    (clause,) = [c for c in LIBRARY.clauses("IRC", "2021") if c.key == key]
    assert clause.compare is compare
    assert [limit.base for limit in clause.limits] == base


@pytest.mark.parametrize(
    ("file", "key", "compare", "limits"),
    [
        (("IBC", "2021"), "guard.height", Comparison.AT_LEAST, [inches(42)]),
        (("IBC", "2021"), "guard.opening.high", Comparison.LESS_THAN, [inches(4, 3, 8)]),
        (("IBC", "2018"), "stair.riser.max", Comparison.AT_MOST, [inches(7)]),
        (("IBC", "2024"), "stair.landing.depth", Comparison.AT_LEAST, [inches(48)]),
        (("IBC", "2018"), "handrail.extension.top", Comparison.AT_LEAST, [inches(12)]),
        (("NBC", "2015"), "guard.needed.drop", Comparison.MORE_THAN, [millimetres(600)]),
        (("NBC", "2020"), "guard.height", Comparison.AT_LEAST, [millimetres(1070)]),
        (("NBC", "2020"), "guard.climb", Comparison.OUTSIDE, [millimetres(140), millimetres(900)]),
        (("NBC", "2015"), "stair.run.private", Comparison.WITHIN,
         [millimetres(255), millimetres(355)]),
        (("ADK", "2013"), "guard.height.balcony", Comparison.AT_LEAST, [millimetres(1100)]),
        (("ADK", "2013"), "stair.pitch", Comparison.AT_MOST, [42 * 3600]),
        (("ADK", "2013"), "stair.step_sum", Comparison.WITHIN,
         [millimetres(550), millimetres(700)]),
        (("NCC", "2022"), "guard.needed.drop", Comparison.AT_LEAST, [millimetres(1000)]),
        (("NCC", "2022"), "guard.opening", Comparison.LESS_THAN, [millimetres(125)]),
        (("NCC", "2022"), "guard.climb", Comparison.OUTSIDE, [millimetres(150), millimetres(760)]),
        (("ADA", "2010"), "stair.riser", Comparison.WITHIN, [inches(4), inches(7)]),
        (("ISPSC", "2018"), "pool.gap.close_members", Comparison.AT_MOST, [inches(1, 3, 4)]),
    ],
)  # fmt: skip
def test_limits_of_other_codes_in_their_own_unit(
    file: tuple[str, str], key: str, compare: Comparison, limits: list[int]
) -> None:
    """Values as the sources named in each file give them; metric codes in whole millimetres."""
    (clause,) = [c for c in LIBRARY.clauses(*file) if c.key == key]
    assert clause.compare is compare
    assert [limit.base for limit in clause.limits] == limits


def test_loads_of_the_ibc_moved_between_editions() -> None:
    sections = {
        edition: next(c for c in LIBRARY.clauses("IBC", edition) if c.key == "load.guard.top")
        for edition in ("2018", "2021", "2024")
    }
    assert sections["2018"].section == "1607.8.1.1"
    assert sections["2021"].section == "1607.9.1.1"
    assert not sections["2021"].from_memory
    assert sections["2024"].from_memory


def test_overlays_are_marked_and_decide_no_need() -> None:
    overlays = {key for key, held in LIBRARY.held.items() if held.overlay}
    assert overlays == {("ADA", "2010"), ("ISPSC", "2018")}
    assert not [c.key for key in overlays for c in LIBRARY.clauses(*key) if c.decides]


def test_2024_prints_its_own_section_numbers() -> None:
    sections = {c.key: c.section for c in LIBRARY.clauses("IRC", "2024")}
    assert sections["guard.height.level"] == "R321.1.2"
    assert sections["stair.riser"] == "R318.7.5.1"
    assert sections["handrail.height"] == "R320.2"
    assert {c.section for c in LIBRARY.clauses("irc", "2021")} >= {"R312.1.2", "R311.7.5.1"}


def test_load_is_read_in_its_unit() -> None:
    (load,) = [c for c in LIBRARY.clauses("IRC", "2021") if c.key == "load.guard.top"]
    (limit,) = load.limits
    # 200 lbf = 889.644 N; 1 lbf = 4.4482216152605 N by definition of the pound and of g.
    assert (limit.value, limit.unit, limit.base) == ("200", "lb", 889_644)
    assert limit.dimension is Dimension.FORCE
    assert load.from_memory


def test_unknown_edition_lists_what_is_held() -> None:
    with pytest.raises(UnknownCode, match="No file holds the code IRC 1899") as refused:
        LIBRARY.clauses("IRC", "1899")
    assert "IRC 2021" in refused.value.advice


@pytest.mark.parametrize(
    ("on", "edition"),
    [
        pytest.param(date(2019, 7, 1), "2018", id="first day of the first edition"),
        pytest.param(date(2022, 6, 30), "2018", id="last day of the first edition"),
        pytest.param(date(2022, 7, 1), "2021", id="first day of the second edition"),
        pytest.param(date(2026, 11, 25), "2021", id="long after"),
    ],
)
def test_edition_in_force_on_a_day(on: date, edition: str) -> None:
    clauses = LIBRARY.in_force(" larkspur hollow ", on)
    assert {(c.code, c.edition) for c in clauses} == {("IRC", edition)}
    held = LIBRARY.clauses("IRC", edition)
    assert tuple(replace(clause, adopted="") for clause in clauses) == held


def test_nothing_in_force_yet() -> None:
    with pytest.raises(UnknownCode, match="Nothing held was in force") as refused:
        LIBRARY.in_force("Larkspur Hollow", date(2019, 6, 30))
    assert refused.value.advice == "The earliest day held is 2019-07-01."


def test_unknown_place_lists_the_places() -> None:
    with pytest.raises(UnknownCode, match="in force in Atlantis") as refused:
        LIBRARY.in_force("Atlantis", date(2026, 1, 1))
    assert "Larkspur Hollow" in refused.value.advice


def test_place_amends_a_clause_and_the_clause_says_so(write: Callable[..., CodeLibrary]) -> None:
    change = {
        "limit": {"value": "42", "unit": "in"},
        "source": {"where": ["B"], "seen": "Invented.", "verified_on": date(2026, 11, 25)},
    }
    library = write(
        _file(),
        _adoption(
            amended={"XYZ": {"guard.height": change}},
            sources={"B": {"title": "Invented ordinance", "address": "nowhere"}},
        ),
    )
    (clause,) = library.in_force("Nowhere", date(2020, 1, 1))
    assert clause.limits[0].base == inches(42)
    assert clause.rule == "A guard is at least this high."
    assert clause.amended == "Amended by Nowhere: 42 in in place of 36 in."
    assert clause.adopted == "Adopted by Nowhere from 2020-01-01. Invented."
    assert clause.source.startswith("Invented ordinance (nowhere).")
    (model,) = library.clauses("XYZ", "1")
    assert (model.limits[0].base, model.amended) == (inches(36), "")


def test_place_deletes_and_adds_clauses(write: Callable[..., CodeLibrary]) -> None:
    source = _clause()["source"]
    changes = {
        "guard.height": {"deleted": True, "source": source},
        "guard.height.local": _clause(),
    }
    library = write(_file(), _adoption(amended={"XYZ": changes}))
    gone, added = library.in_force("Nowhere", date(2020, 1, 1))
    assert (gone.key, gone.amended, gone.deleted) == (
        "guard.height", "Struck out by Nowhere.", True,
    )  # fmt: skip
    assert (added.key, added.amended) == ("guard.height.local", "Added by Nowhere.")


def test_clause_on_a_need_must_be_measured_with_what_decides_it(
    write: Callable[..., CodeLibrary],
) -> None:
    need = {**_clause(), "measure": "guard_needs", "decides": {"need": "guard", "by": "drop"}}
    other = {**_clause(), "measure": "stair_treads", "applies_when": {"guard": "required"}}
    file = {**_file(), "clauses": {"guard.needed": need, "tread": other}}
    with pytest.raises(CodeFileError, match="tread: its measure does not tell the drop"):
        write(file)


def test_overlay_may_depend_on_what_no_layout_tells(write: Callable[..., CodeLibrary]) -> None:
    clause = {**_clause(), "applies_when": {"occupancy": "dwelling"}}
    library = write({**_file(clause), "overlay": True, "asks": ["occupancy"]})
    (read,) = library.clauses("XYZ", "1")
    assert read.applies_when == {"occupancy": "dwelling"}
    assert library.held["XYZ", "1"].overlay


@pytest.mark.parametrize(
    ("change", "message"),
    [
        pytest.param({"limt": {}}, "unknown key limt", id="unknown key"),
        pytest.param({"source": None}, "missing source", id="missing source"),
        pytest.param({"section": ""}, "missing section", id="missing section"),
        pytest.param({"from_memory": None}, "missing from_memory", id="not said if from memory"),
        pytest.param({"measure": "vibes"}, "unknown measure vibes", id="unknown measure"),
        pytest.param({"compare": "about"}, "unknown comparison about", id="unknown comparison"),
        pytest.param({"limit": {"value": "36", "unit": "cubit"}}, "unknown unit cubit",
                     id="unknown unit"),
        pytest.param({"limit": {"value": 36, "unit": "in"}}, "36 must be text", id="bare number"),
        pytest.param({"limit": {"value": "36-7/9", "unit": "in"}}, "36-7/9 in", id="no tape value"),
        pytest.param({"limit": {"value": "1:7", "unit": "ratio"}}, "finer than one step",
                     id="ratio off the grid"),
        pytest.param({"compare": "within"}, "within takes 2 limits, 1 given", id="one limit short"),
        pytest.param({"compare": "required"}, "required takes 0 limits, 1 given",
                     id="one limit too many"),
        pytest.param({"source": {"where": ["Z"], "seen": "x", "verified_on": date(2026, 1, 1)}},
                     "source Z is not listed", id="source not listed"),
        pytest.param({"source": {"where": ["A"], "seen": "x", "verified_on": "soon"}},
                     "verified_on must be a date", id="source not dated"),
        pytest.param({"editions_seen": "2021"}, "editions_seen must be a list", id="not a list"),
        pytest.param({"applies_when": {"colour": "red"}}, "does not know the attribute colour",
                     id="attribute the measure does not give"),
        pytest.param({"applies_when": {"drop": {"compare": "more_than"}}},
                     "more_than takes 1 limits, 0 given", id="condition without a number"),
        pytest.param({"decides": {"need": "guard", "by": "mood"}},
                     "does not know the attribute mood", id="need decided by nothing measured"),
        pytest.param({"measure": "undescribed_stairs"}, "so missing must say why",
                     id="never measured and not said why"),
        pytest.param({"limit": {"value": "36", "unit": "lb"}},
                     "guard_heights measures a length, not a force", id="limit of another kind"),
        pytest.param({"measure": "handrail_sides"}, "handrail_sides measures a count, not a length",
                     id="length for a count"),
        pytest.param({"compare": "required", "limit": None},
                     "guard_heights measures a length and needs a limit", id="height as yes or no"),
        pytest.param({"measure": "handrail_ends"}, "handrail_ends only says yes or no",
                     id="limit for yes or no"),
        pytest.param({"applies_when": {"place": "levle"}}, "place is level or stair, not levle",
                     id="word no element has"),
        pytest.param({"applies_when": {"drop": "high"}}, "drop is a number, not high",
                     id="word for a number"),
        pytest.param({"applies_when": {"guard": "needed"}}, "guard is required, not needed",
                     id="another word for a need"),
        pytest.param({"applies_when": {"drop": {"compare": "more_than",
                                                "limit": {"value": "3", "unit": "count"}}}},
                     "drop is a length, not a count", id="condition of another kind"),
        pytest.param({"measure": ["guard_heights"]}, "must be text", id="measure no text"),
        pytest.param({"source": {"seen": "x", "verified_on": date(2026, 1, 1)}},
                     "missing where, and it is not said to be from memory", id="read nowhere"),
        pytest.param({"source": {"where": 5, "seen": "x", "verified_on": date(2026, 1, 1)}},
                     "source: where must be a list", id="sources no list"),
        pytest.param({"source": {"where": [["A"]], "seen": "x", "verified_on": date(2026, 1, 1)}},
                     "must be text", id="source no text"),
    ],
)  # fmt: skip
def test_bad_clause_is_refused_with_file_and_key(
    write: Callable[..., CodeLibrary], change: dict[str, Any], message: str
) -> None:
    clause = {key: value for key, value in {**_clause(), **change}.items()
              if value is not None or key != "limit"}  # fmt: skip
    with pytest.raises(CodeFileError, match=message) as refused:
        write(_file(clause))
    assert str(refused.value).startswith("codes/xyz/1.yaml: guard.height: ")


def test_clause_given_twice_is_refused(write: Callable[..., CodeLibrary]) -> None:
    text = yaml.safe_dump(_file())
    twice = text.replace("clauses:\n", "clauses:\n  guard.height: {}\n")
    with pytest.raises(CodeFileError, match=r"codes/xyz/1.yaml: guard.height is given twice"):
        write(twice)


def test_broken_yaml_is_refused(write: Callable[..., CodeLibrary]) -> None:
    with pytest.raises(CodeFileError, match=r"codes/xyz/1.yaml: "):
        write("code: [")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        pytest.param({"edition": "2"}, "not what its name says", id="edition of another file"),
        pytest.param({"code": "ABC"}, "not what its name says", id="code of another directory"),
        pytest.param({"author": "me"}, "unknown key author", id="unknown key"),
        pytest.param({"clauses": ["x"]}, "clauses: a mapping is expected", id="list of clauses"),
        pytest.param({"sources": {"A": {"title": "x"}}}, "sources A: missing address",
                     id="source without an address"),
        pytest.param({"sources": {"A": {"title": 5, "address": "x"}}}, "sources A: 5 must be text",
                     id="title no text"),
        pytest.param({"title": ["x"]}, "title: .* must be text", id="title of the code no text"),
        pytest.param({"overlay": "yes"}, "overlay: 'yes' must be true", id="overlay no flag"),
        pytest.param({"asks": "occupancy"}, "asks must be a list", id="asks no list"),
    ],
)  # fmt: skip
def test_bad_code_file_is_refused(
    write: Callable[..., CodeLibrary], change: dict[str, Any], message: str
) -> None:
    with pytest.raises(CodeFileError, match=message):
        write({**_file(), **change})


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        pytest.param({"codes": [{"code": "XYZ", "edition": "9"}]}, "what no file holds",
                     id="edition not held"),
        pytest.param({"from": "1 May"}, "from must be a date", id="no date"),
        pytest.param({"amended": {"ABC": {}}}, "what no file holds", id="amends another code"),
        pytest.param({"amended": {"XYZ": {"guard.height": {"rule": "No guard."}}}},
                     "guard.height: missing source", id="amendment without its own source"),
        pytest.param({"amended": {"XYZ": {"x": {"deleted": True, "source": {"seen": "x"}}}}},
                     "deletes a clause", id="deletes what is not there"),
        pytest.param({"codes": ["XYZ"]}, "codes: a mapping", id="code without edition"),
        pytest.param({"codes": "XYZ"}, "codes must be a list", id="codes no list"),
        pytest.param({"codes": [{"code": ["XYZ"], "edition": "1"}]}, "must be text",
                     id="code no text"),
        pytest.param({"codes": [{"code": "XYZ", "edition": "1", "year": "1"}]}, "unknown key year",
                     id="code with something else"),
        pytest.param({"amended": ["XYZ"]}, "amended: a mapping", id="amendments no mapping"),
        pytest.param({"amended": {"XYZ": 5}}, "amended XYZ: a mapping", id="changes no mapping"),
        pytest.param({"amended": {"XYZ": {"guard.height": 5}}}, "guard.height: a mapping",
                     id="change no mapping"),
        pytest.param({"amended": {"XYZ": {"guard.height": {
                         "deleted": "yes", "source": {"seen": "x"}}}}},
                     "deleted: 'yes' must be true", id="half deleted"),
        pytest.param({"from_memory": 1}, "from_memory: 1 must be true", id="memory no flag"),
        pytest.param({"source": 5}, "source: 5 must be text", id="source no text"),
    ],
)  # fmt: skip
def test_bad_adoption_is_refused(
    write: Callable[..., CodeLibrary], entry: dict[str, Any], message: str
) -> None:
    with pytest.raises(CodeFileError, match=message) as refused:
        write(_file(), _adoption(**entry))
    assert str(refused.value).startswith("adoptions/nowhere.yaml")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"in_force": []}, "missing in_force"),
        ({"in_force": 5}, "in_force must be a list"),
        ({"place": 5}, "place: 5 must be text"),
        ({"source": ["x"]}, "source: .* must be text"),
        ({"invented": "yes"}, "invented: 'yes' must be true or false"),
    ],
)
def test_bad_place_is_refused(
    write: Callable[..., CodeLibrary], change: dict[str, Any], message: str
) -> None:
    with pytest.raises(CodeFileError, match=message) as refused:
        write(_file(), {**_adoption(), **change})
    assert str(refused.value).startswith("adoptions/nowhere.yaml")


def test_days_of_an_adoption_must_rise(write: Callable[..., CodeLibrary]) -> None:
    adoption = _adoption()
    adoption["in_force"] *= 2
    with pytest.raises(CodeFileError, match="days must rise"):
        write(_file(), adoption)


def test_library_without_files_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CodeFileError, match="holds no codes"):
        open_library(tmp_path)

"""Limits over HTTP: a row below, at and above, in inches and in millimetres.

Each deck is an example's request with one dimension changed; what must come out follows from the
comparison of the clause, written beside it. Steps are 1/64 in and 0.1 mm, as a tape may show them.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import orjson
import pytest

from tests.api.replay import request_bytes

Body = dict[str, Any]
STEP_IN, STEP_MM = Fraction(1, 64), Fraction(1, 10)
BELOW, AT, ABOVE = -1, 0, 1
MET, NOT_MET, NOT_NEEDED = "met", "not_met", "not_applicable"
AT_LEAST = (NOT_MET, MET, MET)
AT_MOST = (MET, MET, NOT_MET)
LESS_THAN = (MET, NOT_MET, NOT_MET)
NEEDED_OVER = (NOT_NEEDED, NOT_NEEDED, NOT_MET)  # over more than this, where none stands


def _stair(check: Body) -> Body:
    stair: Body = check["deck"]["stairs"][0]
    return stair


def _edge(check: Body) -> Body:
    edge: Body = check["deck"]["levels"][0]["edges"][1]
    return edge


def _of_system(member: str) -> Callable[[Body, str], None]:
    return lambda check, value: check["system"].update({member: value})


def _of_stair(member: str) -> Callable[[Body, str], None]:
    return lambda check, value: _stair(check).update({member: value})


def _first_riser(check: Body, value: str) -> None:
    """Tape one riser by itself; the others are low enough by far."""
    rest = ["6 in"] * (_stair(check)["risers"] - 1)
    _stair(check)["risers_taped"] = [value, *rest]


def _open_risers(check: Body, value: str) -> None:
    """Risers of 7 in over treads 1 in thick, one of them with a gap of the value."""
    _stair(check).update(riser_kind="open", tread_thickness="1 in")
    number, unit = value.split(" ")
    inch = {"in": 1, "mm": Fraction("25.4")}[unit]
    high = f"{_decimal(Fraction(number) + inch)} {unit}"
    _stair(check)["risers_taped"] = [high, *["4 in"] * (_stair(check)["risers"] - 1)]


def _no_guard(check: Body, value: str) -> None:
    _edge(check).update(guard=False, fall_height=value)


def _no_guard_within_reach(check: Body, value: str) -> None:
    """The fall that counts lies two feet out; much deeper ground lies beyond the reach."""
    taped = [("24 in", value), ("36 in", "5 in"), ("37 in", "90 in")]
    falls = [{"distance": distance, "fall": fall} for distance, fall in taped]
    _edge(check).update(guard=False, fall_height="20 in", falls_taped=falls)


def _grip(check: Body, value: str) -> None:
    check["system"]["grip"] = {"shape": "round", "diameter": value, "edge_radius": "1 in"}


def _headroom(check: Body, value: str) -> None:
    _stair(check)["headroom"] = value


def _latch(check: Body, value: str) -> None:
    """A gate by itself in the edge without a stair; the barrier of a pool."""
    check["deck"]["pool_barrier"] = True
    edge = _edge(check)
    edge.pop("openings", None)
    latch = {"release_height": value, "release_side": "outside"}
    edge.update(kind="gate", gate={"name": "gate", "width": "36 in"}, shut={"latch": latch})
    joint = {
        "hinge_gap": "3/4 in",
        "latch_gap": "3/4 in",
        "bottom_gap": "2 in",
        "max_leaf": "48 in",
    }
    check["system"]["gates"] = joint


@dataclass(frozen=True)
class Row:
    """One clause, where its value stands in the request, and its outcomes below, at and above."""

    code: str
    edition: str
    clause: str
    limit: str
    unit: str
    outcomes: tuple[str, str, str]
    change: Callable[[Body, str], None]


ROWS = (
    Row("IRC", "2021", "guard.height.level", "36", "in", AT_LEAST, _of_system("guard_height")),
    Row("IRC", "2024", "guard.needed.drop", "30", "in", NEEDED_OVER, _no_guard),
    Row("IRC", "2021", "guard.needed.drop", "30", "in", NEEDED_OVER, _no_guard_within_reach),
    Row("IRC", "2018", "guard.opening.level", "4", "in", LESS_THAN, _of_system("bottom_gap")),
    Row("IRC", "2021", "guard.height.stair", "34", "in", AT_LEAST,
        _of_system("stair_guard_height")),
    Row("IRC", "2021", "stair.riser", "7.75", "in", AT_MOST, _first_riser),
    Row("IRC", "2021", "stair.tread", "10", "in", AT_LEAST, _of_stair("unit_run")),
    Row("IRC", "2021", "stair.headroom", "80", "in", AT_LEAST, _headroom),
    Row("IRC", "2024", "stair.riser.open", "4", "in", LESS_THAN, _open_risers),
    Row("IBC", "2021", "guard.height.dwelling", "36", "in", AT_LEAST, _of_system("guard_height")),
    Row("NBC", "2020", "guard.height.low", "900", "mm", AT_LEAST, _of_system("guard_height")),
    Row("ADK", "2013", "guard.needed.drop", "600", "mm", NEEDED_OVER, _no_guard),
    Row("NCC", "2022", "guard.height.floor", "1000", "mm", AT_LEAST, _of_system("guard_height")),
    Row("ADA", "2010", "stair.tread", "11", "in", AT_LEAST, _of_stair("unit_run")),
    Row("ISPSC", "2018", "pool.gate.latch", "54", "in", AT_LEAST, _latch),
)  # fmt: skip


def _decimal(value: Fraction) -> str:
    """Print a number whose denominator has only twos and fives, exactly."""
    text = f"{value.numerator * 10**8 // value.denominator:d}"
    assert Fraction(int(text), 10**8) == value
    return f"{text[:-8] or 0}.{text[-8:].zfill(8)}".rstrip("0").rstrip(".")


def _written(row: Row, where: int, unit: str) -> str:
    """Write a limit, or what lies a step beside it, in a unit."""
    limit = Fraction(row.limit)
    if unit == row.unit:
        step = STEP_IN if unit == "in" else STEP_MM
        return f"{_decimal(limit + where * step)} {unit}"
    if unit == "mm":
        return f"{_decimal(limit * Fraction('25.4') + where * STEP_MM)} mm"
    return ""  # whole millimetres have no end in inches


def _cases() -> Iterator[Any]:
    for row in ROWS:
        for unit in ("in", "mm"):
            for where, name in ((BELOW, "below"), (AT, "at"), (ABOVE, "above")):
                value = _written(row, where, unit)
                if value:
                    sign = f"{row.code} {row.edition} {row.clause}: {name} {row.limit} {row.unit}"
                    outcome = row.outcomes[where + 1]
                    yield pytest.param(row, value, outcome, id=f"{sign}, {value}")


@pytest.mark.parametrize(("row", "value", "outcome"), list(_cases()))
def test_limit_over_http(client, row, value, outcome):
    check = orjson.loads(request_bytes("code-check"))
    check["units"] = "metric" if value.endswith("mm") else "imperial"
    check["code"] = {"code": row.code, "edition": row.edition}
    check["deck"]["use"] = "one_family"
    row.change(check, value)
    response = client.post("/v1/code-checks", json=check)
    assert response.status_code == 200, response.data
    found = [f for f in response.json["findings"] if f["clause"] == row.clause]
    outcomes = {f["outcome"] for f in found}
    worst_first = (NOT_MET, "not_assessed", MET, NOT_NEEDED)
    if row.outcomes is NEEDED_OVER:
        outcomes = {f["outcome"] for f in found if f["element"] == "level main, edge 2"}
    assert next(worst for worst in worst_first if worst in outcomes) == outcome

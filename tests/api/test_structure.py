"""Structure with code checks and quotes: what the answer says of it."""

from copy import deepcopy

import orjson
import pytest

from tests.api.replay import request_bytes

ROUTE = "/v1/code-checks"


@pytest.fixture(scope="module")
def screened() -> dict:
    return orjson.loads(request_bytes("screened-code-check"))


def _outcomes(answer: dict) -> dict[str, str]:
    return {finding["clause"]: finding["outcome"] for finding in answer["findings"]}


def test_without_a_structure_loads_are_left_open(client, screened) -> None:
    bare = {name: part for name, part in screened.items() if name != "structure"}
    answer = client.post(ROUTE, json=bare).json
    assert answer["structure"] is None
    assert _outcomes(answer)["load.guard.top"] == "not_assessed"


def test_a_structure_decides_the_loads(client, screened) -> None:
    answer = client.post(ROUTE, json=screened).json
    outcomes = _outcomes(answer)
    assert outcomes["load.guard.top"] == outcomes["load.guard.infill"] == "met"
    structure = answer["structure"]
    assert any("licensed engineer" in caution for caution in structure["cautions"])
    assert sum(structure["outcomes"].values()) == len(structure["checks"])
    deciding = [c for c in structure["checks"] if "IRC 2021 load.guard.top" in c["decides"]]
    assert deciding
    assert all(check["outcome"] == "ok" for check in deciding)


def test_a_weaker_alloy_is_over_and_named(client, screened) -> None:
    structure = screened["structure"]
    post = {**structure["post"], "alloy": "6063-T5"}
    answer = client.post(ROUTE, json={**screened, "structure": {**structure, "post": post}}).json
    (top,) = [f for f in answer["findings"] if f["clause"] == "load.guard.top"]
    assert top["outcome"] == "not_met"
    assert "post bending" in top["note"]


def test_figures_are_printed_in_the_units_asked_for(client, screened) -> None:
    def force(units: str) -> tuple[float, str]:
        answer = client.post(ROUTE, json={**screened, "units": units}).json
        check = answer["structure"]["checks"][0]
        (figure,) = [figure for figure in check["inputs"] if figure["name"] == "P"]
        return figure["value"], figure["unit"]

    assert force("imperial") == (200, "lb")
    assert force("metric") == (889.644, "N")


def test_an_unknown_alloy_is_pointed_at(client, screened) -> None:
    structure = {**screened["structure"]}
    structure["post"] = {**structure["post"], "alloy": "7075-T6"}
    answer = client.post(ROUTE, json={**screened, "structure": structure})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "#/structure/post/alloy"


def test_a_quote_carries_the_screening_too(client, screened) -> None:
    quote = orjson.loads(request_bytes("quote"))
    answer = client.post("/v1/quotes", json={**quote, "structure": screened["structure"]}).json
    assert answer["structure"]["checks"]
    assert _outcomes(answer["compliance"])["load.guard.infill"] == "met"


def test_advice_says_what_would_carry_the_load(client, screened) -> None:
    structure = screened["structure"]
    weak = {
        **structure,
        "post": {**structure["post"], "alloy": "6063-T5"},
        "slab_anchor": {**structure["slab_anchor"], "tension": "500 lb"},
    }
    answer = client.post(ROUTE, json={**screened, "structure": weak}).json
    advice = {one["cause"]: one for one in answer["advice"] if one["clause"] == "load.guard.top"}
    post = advice["post bending"]
    assert (post["from"], post["to"]) == ({"text": "6063-T5"}, {"text": "6005A-T61"})
    assert post["text"].startswith("Alloy of the post: 6063-T5 to 6005A-T61.")
    assert "anchors in the slab" in post["text"]
    assert post["meets_together"] is True
    # The alloy between the two, in which the stair's taller posts are still over.
    for alloy, outcome in (("6063-T6", "not_met"), (post["to"]["text"], "met")):
        named = {**weak["post"], "alloy": alloy}
        anchor = {**weak["slab_anchor"], "tension": "2150 lb"}
        changed = {**weak, "post": named, "slab_anchor": anchor}
        again = client.post(ROUTE, json={**screened, "structure": changed}).json
        assert _outcomes(again)["load.guard.top"] == outcome


BOLTS = {"kind": "bolt", "diameter": "1/2 in", "washer": "2 in", "edge_distance": "2 in",
         "end_distance": "6 in"}  # fmt: skip
LAGS = {"kind": "lag", "diameter": "1/2 in", "length": "5 in", "edge_distance": "2 in",
        "end_distance": "6 in", "lateral": "200 lb"}  # fmt: skip


def _on_top(check: dict, fastener: dict) -> None:
    check["structure"]["fastener"] = fastener


def _on_the_side(check: dict, fastener: dict) -> None:
    """Posts on the fascia, their set-backs and stock to match; invented."""
    post = {**check["system"]["post"], "stock": [{"name": "tall", "height": "64 in"}]}
    mount = {"mount": "fascia", "set_back": "1-1/2 in", "stair_set_back": "1-1/2 in"}
    check["system"] |= {**mount, "fascia_drop": "7 in", "post": post}
    del check["structure"]["base"]
    side = {"drop": "1-1/2 in", "spacing": "4 in", "rim_held": True, "fastener": fastener}
    check["structure"]["side_mount"] = side


@pytest.mark.parametrize("fixed", [_on_top, _on_the_side])
@pytest.mark.parametrize("fastener", [BOLTS, LAGS], ids=["bolts", "lags"])
def test_every_check_made_says_how_from_what_and_on_which_assumption(
    client, screened, fixed, fastener
) -> None:
    check = deepcopy(screened)
    fixed(check, fastener)
    answer = client.post(ROUTE, json=check)
    assert answer.status_code == 200, answer.data
    made = [c for c in answer.json["structure"]["checks"] if c["utilisation"] is not None]
    assert len(made) > 20
    for one in made:
        told = {key: one[key] for key in ("formula", "inputs", "source", "assumptions")}
        assert all(told.values()), (one["name"], told)


def test_value_from_memory_is_named_as_the_formula_prints_it(client, screened) -> None:
    checks = client.post(ROUTE, json=screened).json["structure"]["checks"]
    said = {note for one in checks for note in one["assumptions"]}
    assert "From memory, to be confirmed against print: E of 6005A-T61" in said

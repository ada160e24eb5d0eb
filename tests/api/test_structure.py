"""Structure with code checks and quotes: what the answer says of it."""

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

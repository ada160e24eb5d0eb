"""Code checks over HTTP: several codes side by side, amendments, advice; and the codes held."""

import re
from copy import deepcopy
from html import unescape

import orjson
import pytest

from service.api.presenters.cautions import SCREENING, STANDING, SYSTEM, WORDS
from tests.api.replay import request_bytes

IRC = {"code": "IRC", "edition": "2021"}


@pytest.fixture
def check():
    """The demo check, free to be changed."""
    return orjson.loads(request_bytes("code-check"))


@pytest.fixture
def answered(client):
    """Posts a check and gives what is answered."""

    def answered(body, status=200):
        response = client.post("/v1/code-checks", json=body)
        assert response.status_code == status, response.data
        return response.json

    return answered


def findings_of(answer, key):
    return [f for f in answer["findings"] if f["clause"] == key]


def test_several_codes_are_held_side_by_side(check, answered):
    del check["code"]
    check["codes"] = [{"code": "IRC", "edition": "2018"}, {"code": "NBC", "edition": "2015"}]
    answer = answered(check)
    assert [one["name"] for one in answer["checks"]] == ["IRC 2018", "NBC 2015"]
    (row,) = [
        row
        for row in answer["side_by_side"]
        if (row["measure"], row["element"]) == ("guard_heights", "S1")
    ]
    by_name = {}
    for result in row["results"]:
        by_name.setdefault(result["name"], []).append(result["limits"][0]["enacted"])
    assert by_name["IRC 2018"] == ["36 in"]
    assert set(by_name["NBC 2015"]) == {"900 mm", "1070 mm"}
    alone = answered({**check, "codes": check["codes"][:1]})["checks"][0]
    assert alone == answer["checks"][0]


def test_what_no_layout_tells_stands_beside_its_like_only(check, answered):
    del check["code"]
    check["codes"] = [IRC, {"place": "California"}, {"code": "NBC", "edition": "2020"}]
    rows = {(row["measure"], row["element"]): row for row in answered(check)["side_by_side"]}
    edge = "level main, edge 1"
    framing = rows["load.deck", "deck"]["results"]
    assert [result["name"] for result in framing] == ["IRC 2021", "California"]
    assert [r["name"] for r in rows["guard.needed.slope", edge]["results"]] == ["NBC 2020"]
    heights = {r["name"]: r for r in rows["guard_heights", "S1"]["results"]}
    assert heights["California"]["amended"] == "Amended by California: 42 in in place of 36 in."
    risers = rows["stair_risers", "garden stair"]["results"]
    assert {r["name"] for r in risers if r["from_memory"]} == {"NBC 2020"}


def test_single_form_gives_what_the_comparison_gives(check, answered):
    single = answered(check)
    code = check.pop("code")
    (of_many,) = answered({**check, "codes": [code]})["checks"]
    assert {**of_many, "units": single["units"], "cautions": single["cautions"]} == {
        **single,
        "name": of_many["name"],
    }


def test_amendment_changes_the_limit_and_is_told_in_the_finding(check, answered):
    check["code"] = {
        **IRC,
        "amendments": [
            {
                "clause": "guard.height.level",
                "limit": {"value": "42", "unit": "in"},
                "source": "Invented ordinance 7.",
            },
            {"clause": "handrail.needed", "delete": True, "source": "Invented ordinance 8."},
        ],
    }
    answer = answered(check)
    height = findings_of(answer, "guard.height.level")[0]
    assert height["limits"][0]["enacted"] == "42 in"
    assert height["outcome"] == "not_met"
    assert height["amended"] == (
        "Amended by the request: 42 in in place of 36 in. Source given: Invented ordinance 7."
    )
    (gone,) = findings_of(answer, "handrail.needed")
    assert gone["outcome"] == "not_applicable"
    assert gone["note"].startswith("Struck out by the request.")


def test_advice_names_the_change_and_its_place(check, answered):
    check["system"]["guard_height"] = "34 in"
    (advice,) = [a for a in answered(check)["advice"] if a["clause"] == "guard.height.level"]
    assert advice["member"] == "system.guard_height"
    assert (advice["from"]["mm"], advice["to"]["mm"]) == (863.6, 914.4)
    assert advice["text"] == "Guard height: 2' 10\" to 3' 0\"."
    assert advice["elements"]


def test_amended_place_is_found_with_its_source(check, answered):
    check["code"] = {"place": "California"}
    answer = answered(check)
    height = findings_of(answer, "guard.height.level")[0]
    assert height["amended"] == "Amended by California: 42 in in place of 36 in."
    adopted = "Adopted by California from 2026-01-01."
    assert any(caution.startswith(adopted) for caution in answer["cautions"])


def test_taped_steps_are_measured(check, answered):
    stair = check["deck"]["stairs"][0]
    count = stair["risers"]
    stair["risers_taped"] = ["7-1/2 in"] * (count - 1) + ["7 in"]
    (uniform,) = findings_of(answered(check), "stair.riser.uniform")
    assert (uniform["outcome"], uniform["measured"]["text"]) == ("not_met", '1/2"')
    stair["risers_taped"] = ["7-1/2 in"]
    refused = answered(check, 422)
    assert refused["errors"][0]["pointer"] == "#/deck/stairs/0/risers_taped"


def test_drop_is_looked_for_within_the_reach(check, answered):
    edge = check["deck"]["levels"][0]["edges"][1]
    edge |= {
        "guard": False,
        "fall_height": "20 in",
        "falls_taped": [{"distance": "72 in", "fall": "46 in"}],
    }
    key = "level main, edge 2"
    answer = answered(check)
    (drop,) = [f for f in findings_of(answer, "guard.needed.drop") if f["element"] == key]
    assert (drop["outcome"], drop["measured"]["text"]) == ("not_met", "2' 9\"")
    assert "the end of the reach, straight between tapes 1 and 2" in drop["note"]
    (reach,) = [f for f in findings_of(answer, "guard.needed.reach") if f["element"] == key]
    assert (reach["outcome"], reach["measured"]["mm"]) == ("not_applicable", 1828.8)


def _on_edge_falls(answer):
    return [one for one in answer["cautions"] if one.startswith("No guard called for by the fall")]


def test_guard_not_called_for_by_the_fall_at_the_edge_alone_carries_a_caution(check, answered):
    edge = check["deck"]["levels"][0]["edges"][1]
    assert _on_edge_falls(answered(check)) == []
    edge |= {"guard": False, "fall_height": "30 in"}
    (caution,) = _on_edge_falls(answered(check))
    assert "level main, edge 2 (IRC 2021 R312.1.1)" in caution
    assert "falls_taped" in caution
    edge["falls_taped"] = [{"distance": "36 in", "fall": "30 in"}]
    assert _on_edge_falls(answered(check)) == []


def test_each_code_beside_another_is_named_where_only_its_edge_fall_was_taken(check, answered):
    """NBC looks no farther than the edge, so nothing is left out there."""
    check["deck"]["levels"][0]["edges"][1] |= {"guard": False, "fall_height": "20 in"}
    del check["code"]
    check["codes"] = [{"code": "IRC", "edition": "2018"}, {"code": "NBC", "edition": "2015"}]
    (caution,) = _on_edge_falls(answered(check))
    assert "level main, edge 2 (IRC 2018 R312.1.1)" in caution
    assert "NBC" not in caution


@pytest.mark.parametrize(
    ("taped", "member"),
    [
        ([("0 in", "21 in")], "0/fall"),
        ([("12 in", "21 in"), ("304.8 mm", "22 in")], "1/distance"),
    ],
)
def test_falls_that_contradict_each_other_are_refused(check, answered, taped, member):
    edge = check["deck"]["levels"][0]["edges"][1]
    falls = [{"distance": distance, "fall": fall} for distance, fall in taped]
    edge |= {"fall_height": "20 in", "falls_taped": falls}
    refused = answered(check, 422)
    pointer = f"#/deck/levels/0/edges/1/falls_taped/{member}"
    assert [error["pointer"] for error in refused["errors"]] == [pointer]


def test_slopes_are_read_as_ratio_or_percent(check, answered):
    stair = check["deck"]["stairs"][0]
    stair |= {"tread_slope": "1/4:12", "landing_slope": "2.1 %", "riser_lean": 30}
    answer = answered(check)
    found = [(f["outcome"], f["measured"]["text"]) for f in findings_of(answer, "stair.slope")]
    assert found == [("met", "1:48"), ("not_met", "1:47.62")]
    assert findings_of(answer, "stair.riser.slope")[0]["outcome"] == "met"
    stair["tread_slope"] = "1:0"
    assert answered(check, 422)["errors"][0]["pointer"] == "#/deck/stairs/0/tread_slope"


def test_grip_as_described_is_judged(check, answered):
    check["system"]["grip"] = {"shape": "round", "diameter": "2-1/8 in", "edge_radius": "1 in"}
    found = {f["outcome"] for f in findings_of(answered(check), "handrail.grip.round")}
    assert found == {"not_met"}


@pytest.mark.parametrize(
    ("change", "pointer", "kind"),
    [
        pytest.param({"code": None}, "#/code", "invalid-request", id="no code at all"),
        pytest.param({"codes": [IRC]}, "#/code", "invalid-request", id="both forms"),
        pytest.param(
            {"code": {**IRC, "amendments": [{"clause": "x", "delete": True, "source": "y"}]}},
            "#/code/amendments/0/clause",
            "invalid-amendment",
            id="clause that is not there",
        ),
        pytest.param(
            {
                "code": {
                    **IRC,
                    "amendments": [
                        {
                            "clause": "guard.height.level",
                            "limit": {"value": "3", "unit": "count"},
                            "source": "y",
                        }
                    ],
                }
            },
            "#/code/amendments/0",
            "invalid-amendment",
            id="limit of another kind",
        ),
        pytest.param(
            {
                "code": {
                    **IRC,
                    "amendments": [
                        {"clause": "guard.height.level", "delete": False, "source": "y"}
                    ],
                }
            },
            "#/code/amendments/0/delete",
            "invalid-request",
            id="deletion that is none",
        ),
    ],
)
def test_refusals_point_at_what_is_wrong(check, answered, change, pointer, kind):
    body = {name: value for name, value in {**check, **change}.items() if value is not None}
    refused = answered(body, 422)
    assert refused["type"] == f"/problems/{kind}"
    assert pointer in {error["pointer"] for error in refused["errors"]}


@pytest.mark.parametrize(
    ("wrong", "below"),
    [
        pytest.param({"place": "Atlantis"}, "/place", id="place"),
        pytest.param({"code": "IRC", "edition": "1899"}, "", id="edition"),
        pytest.param(
            {
                "code": "IRC",
                "edition": "2021",
                "amendments": [{"clause": "no.such", "delete": True, "source": "Ordinance"}],
            },
            "/amendments/0/clause",
            id="amendment",
        ),
    ],
)
def test_a_refusal_points_to_the_code_at_fault(check, post, wrong, below):
    del check["code"]
    check["codes"] = [{"code": "IRC", "edition": "2021"}, wrong]
    response = post("/v1/code-checks", orjson.dumps(check))
    assert response.status_code == 422
    assert response.json["errors"][0]["pointer"] == f"#/codes/1{below}"


def test_codes_and_places_are_listed(client):
    listed = client.get("/v1/codes").json
    by_name = {f"{one['code']} {one['edition']}": one for one in listed["codes"]}
    assert {"IRC 2021", "IBC 2024", "NBC 2020", "ADK 2013", "NCC 2022"} <= by_name.keys()
    assert by_name["ADA 2010"]["overlay"]
    assert by_name["IBC 2024"]["from_memory_count"] == by_name["IBC 2024"]["clause_count"]
    (california,) = [place for place in listed["places"] if place["name"] == "California"]
    assert california["in_force"][0]["from_memory"]
    (demo,) = [place for place in listed["places"] if place["invented"]]
    assert demo["name"] == "Larkspur Hollow"


def test_edition_gives_every_clause_with_its_reading(client, document_of):
    for one in client.get("/v1/codes").json["codes"]:
        edition = client.get(one["link"]).json
        assert len(edition["clauses"]) == one["clause_count"]
        assert all(clause["source"] and clause["section"] for clause in edition["clauses"])
        document_of("CodeEdition").validate(edition)
    document_of("Library").validate(client.get("/v1/codes").json)


@pytest.fixture
def document_of(client):
    """Gives a validator of one component of the served document."""
    import jsonschema_rs

    components = client.get("/v1/openapi.json").json["components"]

    def validator(name):
        schema = {"$ref": f"#/components/schemas/{name}", "components": components}
        return jsonschema_rs.validator_for(schema)

    return validator


def test_unknown_edition_is_not_found(client):
    response = client.get("/v1/codes/IRC/1899")
    assert response.status_code == 404
    assert response.json["type"] == "/problems/code-not-found"
    assert "IRC 2021" in response.json["errors"][0]["advice"]


def test_every_answer_carries_its_cautions(client, check):
    several = deepcopy(check)
    several["codes"] = [several.pop("code")]
    posts = {
        "/v1/layouts": orjson.loads(request_bytes("layout")),
        "/v1/takeoffs": orjson.loads(request_bytes("takeoff")),
        "/v1/quotes": orjson.loads(request_bytes("quote")),
        "/v1/code-checks": check,
    }
    answers = [client.post(path, json=body) for path, body in posts.items()]
    answers.append(client.post("/v1/code-checks", json=several))
    for answer in answers:
        assert set(STANDING) <= set(answer.json["cautions"]), answer.request.path
    drawing = client.get(answers[2].json["links"]["drawing"]).get_data(as_text=True)
    text = " ".join(re.sub("<[^>]*>", " ", drawing).split())
    said = unescape(text)
    assert [caution for caution in STANDING if caution not in said] == []
    for path in ("/v1/codes", "/v1/codes/IRC/2021"):
        assert {WORDS, SCREENING, SYSTEM} <= set(client.get(path).json["cautions"])


def test_limits_from_memory_are_told_in_finding_and_caution(client, check):
    check["code"] = {"code": "NBC", "edition": "2020"}
    answer = client.post("/v1/code-checks", json=check).json
    recalled = {f["section"] for f in answer["findings"] if f["from_memory"]}
    assert "NBC 2020 Table 9.8.4.1" in recalled
    (caution,) = [one for one in answer["cautions"] if one.startswith("Limits not read in a copy")]
    assert all(section in caution for section in recalled)

"""The other ways a quote's posts could stand, as its customer reads them."""

import json

import pytest

from service.adapters.documents.quote_choices import _MOST_RUNS, choice_blocks
from service.adapters.documents.sheet import Heading, Paragraph, Table, Weight
from service.api.schemas.requests import QUOTE_REQUEST
from service.usecases.print_quote import Document
from service.usecases.take_off_railing import lay_out_to_order
from tests.api.replay import request_bytes
from tests.unit.adapters.documents.printing import answer, layout_of, printed, read, squeezed


def option(posts, *spans):
    return {"posts": posts, "spans": [{"text": text} for text in spans]}


RUN = {
    "run": "R2",
    "picked": 1,
    "options": [
        option(1, "4 ft", "3 ft"),
        option(2, "2 ft", "3 ft", "2 ft"),
        option(2, "3 ft", "2 ft", "2 ft"),
        option(3, "2 ft", "2 ft", "2 ft", "1 ft"),
        option(1, "3 ft", "4 ft"),
        option(4, *["17 in"] * 5),
    ],
}


def test_the_best_of_each_other_number_of_posts_is_told_beside_what_is_quoted():
    heading, words, table = choice_blocks({"choices": [RUN]})
    assert isinstance(heading, Heading)
    assert isinstance(words, Paragraph)
    assert isinstance(table, Table)
    assert "None of these ways is priced" in words.text, (
        "no price is promised that nothing has worked out"
    )
    assert [row.cells for row in table.rows] == [
        ("R2", "2, as quoted", "2 ft, 3 ft, 2 ft"),
        ("", "1, 1 post fewer", "4 ft, 3 ft"),
        ("", "3, 1 post more", "3 × 2 ft, 1 ft"),
    ]
    assert [row.weight for row in table.rows] == [Weight.STRONG, Weight.PLAIN, Weight.PLAIN]
    assert [row.keep for row in table.rows] == [True, True, False], "a run is not torn"


@pytest.mark.parametrize(
    "layout",
    [
        pytest.param({}, id="older than choices"),
        pytest.param({"choices": []}, id="none asked for"),
        pytest.param({"choices": [{**RUN, "options": RUN["options"][1:3], "picked": 0}]}, id="one"),
    ],
)
def test_nothing_is_said_where_there_is_no_other_number(layout):
    assert list(choice_blocks(layout)) == []


def test_many_runs_are_cut_short_and_the_page_says_so():
    choices = [{**RUN, "run": f"R{i}"} for i in range(_MOST_RUNS + 3)]
    *_, table, last = choice_blocks({"choices": choices})
    assert len(table.rows) == 3 * _MOST_RUNS
    assert last.text.startswith("3 further runs ")


@pytest.mark.parametrize("name", ["quote", "metric-quote"])
def test_they_stand_on_the_customer_s_page(client_layout, name):
    quote, told = client_layout(name)
    text = read(printed(Document.QUOTE, quote, layout_of(name)))
    assert squeezed("Other ways to stand the posts") in text
    assert len(told.rows) > 3
    for row in told.rows:
        for cell in row.cells:
            assert squeezed(cell) in text, cell


@pytest.fixture
def client_layout():
    """Give an example's answer as it is where alternatives are asked for, and its table."""
    from service.api.presenters.layout import present_layout

    def made(name):
        asked = json.loads(request_bytes(name)) | {"wish": {"list_alternatives": True}}
        order = QUOTE_REQUEST.load(asked)
        layout = present_layout(lay_out_to_order(order, order.on), order.units)
        quote = answer(name)
        quote["layout"] = json.loads(json.dumps(layout))
        return quote, list(choice_blocks(quote["layout"]))[2]

    return made

"""Names of elements in a few words: what is shortened is all there, and nothing more."""

import re

from hypothesis import given
from hypothesis import strategies as st

from service.adapters.documents.element_names import named_in_rows

NUMBERS = st.lists(st.integers(0, 40), unique=True, max_size=30).map(sorted)


def spelt_out(text, before, after):
    """Read the numbers that a text names, rows written out."""
    for part in text.split(", ") if text else ():
        ends = [int(number) for number in re.findall(r"[0-9]+", part)]
        assert part.startswith(before)
        assert part.endswith(after)
        yield from range(ends[0], ends[-1] + 1)


@given(NUMBERS, st.sampled_from(["P", "edge "]), st.sampled_from(["", " top"]))
def test_every_element_is_named_once_and_no_other(numbers, before, after):
    text = named_in_rows([f"{before}{number}{after}" for number in numbers], 99)
    assert list(spelt_out(text, before, after)) == numbers


def test_what_differs_in_more_than_the_number_makes_no_row():
    joints = ["S1 top at P1", "S1 bottom at P1", "S2 top at P2", "S3 top at P3"]
    assert named_in_rows(joints, 8) == ", ".join(joints)
    assert named_in_rows(["P1", "P2"], 8) == "P1, P2"
    assert named_in_rows(["deck"], 8) == "deck"


def test_edges_of_a_level_are_named_by_one_word():
    edges = [f"level main, edge {number}" for number in (1, 2, 3, 4, 6)]
    assert named_in_rows(edges, 8) == "level main, edge 1–4, level main, edge 6"


def test_what_is_left_out_is_counted_by_elements_and_not_by_rows():
    assert named_in_rows(["P1", "P2", "P3", "S1", "Q7", "Q8", "Q9"], 2) == "P1–P3, S1 and 3 more"

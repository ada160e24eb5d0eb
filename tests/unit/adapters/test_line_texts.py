import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.adapters.storage.line_texts import (
    numbered,
    read_lines,
    read_orders,
    write_amounts,
)

LINE = st.tuples(
    st.integers(0, 2**48 - 1), st.integers(0, 2**63 - 1), st.integers(-(2**63), 2**63 - 1)
)


@given(st.lists(st.lists(LINE, max_size=4)))
def test_texts_are_read_as_json(quotes):
    texts = [
        json.dumps([n for line in lines for n in line], separators=(",", ":")) for lines in quotes
    ]
    found = read_lines(texts)
    every = [line for lines in quotes for line in lines]
    assert (
        list(
            zip(
                found.parts.tolist(), found.quantities.tolist(), found.amounts.tolist(), strict=True
            )
        )
        == every
    )
    assert np.diff(found.offsets).tolist() == [len(lines) for lines in quotes]


def text_of(numbers):
    return json.dumps(list(numbers), separators=(",", ":"))


@given(st.lists(st.tuples(st.lists(LINE, max_size=4), st.booleans()), max_size=6))
def test_orders_of_anothers_material_have_amounts_of_their_own(every):
    texts, materials, amounts = [], [], []
    for lines, led in every:
        whole = text_of(number for line in lines for number in line)
        own = [(line[2] + 1 if led and line[2] < 2**63 - 1 else line[2]) for line in lines]
        texts.append(text_of(own) if led else whole)
        materials.append(whole if led else None)
        amounts.append(own)
    found = read_orders(texts, materials)
    assert found.amounts.tolist() == [amount for own in amounts for amount in own]
    assert found.parts.tolist() == [line[0] for lines, _ in every for line in lines]
    assert write_amounts(found.offsets, found.amounts) == [text_of(own) for own in amounts]


@pytest.mark.parametrize("amounts", ["[]", "[1]", "[1,2,3]"])
def test_an_order_with_other_lines_than_its_material_is_refused(amounts):
    with pytest.raises(ValueError, match="other lines than the one whose material it has"):
        read_orders([amounts, "[7,1,5]"], ["[7,1,5,8,1,5]", None])


@pytest.mark.parametrize(
    "text",
    ["", "[1,2]", "[1,2,3,4]", "[1,2,x]", "[1,2,3.5]", "[1,,3]", "[1,2,3", "[1,2,]", "[1,-,3]"],
)
def test_other_texts_are_refused(text):
    with pytest.raises((ValueError, DeprecationWarning)):
        read_lines(["[1,2,3]", text, "[4,5,6]"])


def test_an_unknown_part_is_named():
    with pytest.raises(KeyError, match="no part is kept under the id 8"):
        numbered(np.array([7, 8]), np.array([7, 9]))
    with pytest.raises(KeyError, match="under the id 10"):
        numbered(np.array([10]), np.array([7, 9]))
    with pytest.raises(KeyError, match="under the id 1"):
        numbered(np.array([1]), np.array([], np.int64))
    assert numbered(np.array([], np.int64), np.array([], np.int64)).tolist() == []

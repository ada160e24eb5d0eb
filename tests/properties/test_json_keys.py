"""A repeated key is found wherever it stands and however the document is spaced."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.exceptions import BadRequest

from service.api.body import parsed

NAMES = st.sampled_from(["a", "b", ":", '":', " :", '"', "\\", ""])
SPACE = st.text(" \t\r\n", max_size=2)


def written(draw, name):
    """Write a text, its colons perhaps escaped."""
    colon = draw(st.sampled_from([":", "\\u003a", "\\u003A"]))
    return json.dumps(name).replace(":", colon)


@st.composite
def documents(draw, depth=2):
    """Text of a document, and whether an object in it has a key twice."""
    if depth and draw(st.booleans()):
        pairs, repeated = [], False
        names = draw(st.lists(NAMES, max_size=4))
        for name in names:
            value, inside = draw(documents(depth - 1))
            pairs.append(written(draw, name) + draw(SPACE) + ":" + draw(SPACE) + value)
            repeated |= inside
        return "{" + ",".join(pairs) + "}", repeated or len(set(names)) < len(names)
    if depth and draw(st.booleans()):
        inside = draw(st.lists(documents(depth - 1), max_size=3))
        return "[" + ",".join(text for text, _ in inside) + "]", any(two for _, two in inside)
    return written(draw, draw(NAMES)), False


@given(documents())
def test_a_document_is_refused_where_a_key_is_repeated_and_nowhere_else(drawn):
    text, repeated = drawn
    if repeated:
        with pytest.raises(BadRequest, match="stands twice"):
            parsed(text.encode(), 32)
    else:
        assert parsed(text.encode(), 32) == json.loads(text)

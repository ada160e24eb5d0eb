"""Complaints about a member and about what is inside it stand beside each other."""

import pytest
from marshmallow import ValidationError

from service.api.problems import field_errors
from service.api.schemas.base import Complaints

ABOUT = [(("edges",), "Too few."), (("edges", 0, "stair"), "Unknown."), (("edges",), "Too short.")]


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (0, 2, 1)])
def test_a_list_and_its_entry_may_both_be_wrong(order):
    complaints = Complaints()
    for index in order:
        complaints.add(*ABOUT[index])
    with pytest.raises(ValidationError) as refused:
        complaints.refuse()
    found = {(one["pointer"], one["detail"]) for one in field_errors(refused.value.messages)}
    assert found == {
        ("#/edges", "Too few."),
        ("#/edges/0/stair", "Unknown."),
        ("#/edges", "Too short."),
    }

"""What a caller wishes of the layout."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import Choice, JsonInt, Rows, Text, YesNo
from service.api.schemas.outlines import Vertex
from service.domain.layout.choice_records import Preference, Wish

MOST_PLACES = 200
MOST_PICKS = 200


class PickSchema(StrictSchema):
    """The alternative to take for a run, as a layout with alternatives numbers them from 0."""

    run = Text(12, required=True)
    option = JsonInt(0, 1000, required=True)


class WishSchema(StrictSchema):
    """What the division of runs is ranked by; fewest posts if nothing is said."""

    rank_by = Choice(Wish, load_default=Wish.FEWEST_POSTS.value)
    places = Rows(fields.Nested(Vertex), 0, MOST_PLACES, load_default=list)
    list_alternatives = YesNo(load_default=False)
    picks = Rows(fields.Nested(PickSchema), 0, MOST_PICKS, load_default=list)


def preference_of(wish: Mapping[str, Any] | None) -> Preference:
    """Give the record of a wish."""
    if wish is None:
        return Preference()
    return Preference(
        wish=Wish(wish["rank_by"]),
        places=tuple((place["x"], place["y"]) for place in wish["places"]),
        list_alternatives=wish["list_alternatives"],
        picks={pick["run"]: pick["option"] for pick in wish["picks"]},
    )

"""A dealer's amendments of codes, in versions: held against the code before they are kept."""

from collections.abc import Mapping
from typing import Any

import orjson

from service.api.context import context, today
from service.api.kept_documents import Shelf, routes_of
from service.api.presenters.values import Json
from service.api.schemas.catalogue import (
    AmendmentSetRequest,
    AmendmentsVersionRequest,
    amendments_of,
    default_place,
)
from service.domain.errors import InvalidAmendment, UnknownCode
from service.usecases.catalogue import Draft, Kind
from service.usecases.check_code import clauses_for
from service.usecases.orders import CodeSelection

_ASIDE = ("name", "note")
_SHOWN = {
    "name": "Wexholm 2026",
    "code": "IRC",
    "edition": "2021",
    "amendments": [
        {
            "clause": "guard.height.level",
            "limit": {"value": "42", "unit": "in"},
            "source": "Wexholm Building Office, notice 2026-3",
        }
    ],
}


def _draft_of(content: Mapping[str, Any], wish: Mapping[str, Any]) -> Draft:
    _refuse_misfits(wish)
    kept = {key: value for key, value in content.items() if key not in _ASIDE}
    return Draft(orjson.dumps(kept), wish["note"], default_place(wish))


def _refuse_misfits(wish: Mapping[str, Any]) -> None:
    """Refuse what would spoil each quote that it is used for.

    Raises:
        UnknownCode: The place, or code and edition, is not held.
        InvalidAmendment: An amendment does not fit its clause.
    """
    named = {key: wish.get(key, "") for key in ("code", "edition", "place")}
    selection = CodeSelection(**named, amendments=amendments_of(wish))
    try:
        clauses_for(selection, today(), context().codes)
    except InvalidAmendment as refusal:
        refusal.where = refusal.where[1:]
        raise
    except UnknownCode as refusal:
        refusal.where = ("place",) if named["place"] else ("edition",)
        raise


def _content_of(kept: Any) -> Json:
    return {
        **{key: kept.get(key) for key in ("place", "code", "edition")},
        "default": kept.get("default", False),
        "amendments": kept["amendments"],
    }


blueprint = routes_of(
    Shelf(
        Kind.AMENDMENTS,
        ("AmendmentSet", "AmendmentSets"),
        ("set of amendments", "sets of amendments"),
        ("/v1/amendments", "amendment_sets"),
        "set_id",
        ("KeptAmendmentSet", "AmendmentSetPage"),
        (AmendmentSetRequest(), AmendmentsVersionRequest()),
        _SHOWN,
        _draft_of,
        _content_of,
    ),
    "Changes of single clauses that the dealer answers for. A default applies to the quotes of "
    'its place unasked; others are named: {"amendments": {"stored": "Wexholm 2026"}}.',
)

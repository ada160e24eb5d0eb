"""Which code to check, and what the caller changes in it."""

from collections.abc import Mapping, Sequence
from typing import Any

from marshmallow import fields

from service.api.schemas.base import Complaints, Path, StrictSchema
from service.api.schemas.fields import OneOf, Rows, Text, YesNo
from service.api.schemas.stored import Referable
from service.domain.compliance.findings import Amendment
from service.usecases.orders import CodeSelection

MOST_AMENDMENTS = 100
MOST_CODES = 8
LONGEST_KEY = 80
LONGEST_SOURCE = 300

Loaded = Mapping[str, Any]


class LimitSchema(StrictSchema):
    """A number and its unit as enacted, such as 42 in or 1:48 ratio."""

    value = Text(20, required=True)
    unit = Text(12, required=True)


class AmendmentSchema(StrictSchema):
    """What every amendment says: the clause's key, whose code, and who amended it."""

    clause = Text(LONGEST_KEY, required=True)
    code = Text(20)
    source = Text(LONGEST_SOURCE, required=True)


class LimitAmendment(AmendmentSchema):
    """Another limit for a clause that has one."""

    limit = fields.Nested(LimitSchema, required=True)


class LimitsAmendment(AmendmentSchema):
    """Other limits for a clause that has two."""

    limits = Rows(fields.Nested(LimitSchema), 1, 2, required=True)


class DeletionAmendment(AmendmentSchema):
    """A clause struck out: delete is true."""

    delete = YesNo(required=True)


def amendment_rows(**options: Any) -> Rows:
    """Give the field of a list of amendments."""
    shapes = {"limit": LimitAmendment, "limits": LimitsAmendment, "delete": DeletionAmendment}
    return Rows(OneOf("", shapes), 0, MOST_AMENDMENTS, **options)


def amendments() -> Referable:
    """Give the field that amends a code."""
    return Referable(amendment_rows(), "amendments", load_default=list)


class CodeByEdition(StrictSchema):
    """A code and its edition, such as IRC 2021."""

    code = Text(20, required=True)
    edition = Text(20, required=True)
    amendments = amendments()


class CodeByPlace(StrictSchema):
    """A place whose adoption says which code and edition is in force on the day."""

    place = Text(80, required=True)
    amendments = amendments()


def code_selection(**options: Any) -> OneOf:
    """Give the field that says which code to check."""
    return OneOf("", {"code": CodeByEdition, "place": CodeByPlace}, **options)


def check_selections(data: Loaded, complaints: Complaints) -> None:
    """Note a check that names no code or both forms, and deletions that delete nothing."""
    one, several = data.get("code"), data.get("codes")
    if (one is None) == (several is None):
        complaints.add(("code",), "Send either code, or codes to hold side by side.")
    places: list[Path] = (
        [("code",)] if one else [("codes", index) for index in range(len(several or []))]
    )
    for where, wanted in zip(places, [one] if one else several or [], strict=True):
        check_amendments(wanted["amendments"], (*where, "amendments"), complaints)


def check_amendments(amendments: Sequence[Loaded], at: Path, complaints: Complaints) -> None:
    """Note deletions that delete nothing."""
    for index, amendment in enumerate(amendments):
        if amendment.get("delete") is False:
            complaints.add((*at, index, "delete"), "Send true, or leave the amendment out.")


def selection_of(wanted: Loaded) -> CodeSelection:
    """Give the record of one code asked for."""
    return CodeSelection(
        code=wanted.get("code", ""),
        edition=wanted.get("edition", ""),
        place=wanted.get("place", ""),
        amendments=tuple(amendment_of(amendment) for amendment in wanted["amendments"]),
    )


def amendment_of(amendment: Loaded) -> Amendment:
    """Give the record of one amendment."""
    limits = [amendment["limit"]] if "limit" in amendment else amendment.get("limits", [])
    return Amendment(
        clause=amendment["clause"],
        limits=tuple((limit["value"], limit["unit"]) for limit in limits),
        deleted=amendment.get("delete", False),
        source=amendment["source"],
        code=amendment.get("code", ""),
        by=amendment.get("by", ""),
    )

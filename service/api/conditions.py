"""The header If-Match, wherever something that is stored is changed.

Source: RFC 9110, section 13.1.1 (If-Match); RFC 6585, section 3 (428).
"""

from flask import Response, request

from service.api.answers.words import Described
from service.domain.errors import ConditionMissing
from service.usecases.conditions import Matches, demand_seen

IF_MATCH: Described = {
    "name": "If-Match",
    "in": "header",
    "description": "ETag of what was seen; the change is refused if it has changed since.",
    "schema": {"type": "string"},
}
# 428 answers a call without it, so that the document does not call it required.
NEEDED_IF_MATCH: Described = {
    **IF_MATCH,
    "description": "Needed: ETag of what was seen; the change is refused if it has changed since. "
    "An asterisk changes it as it stands, seen or not.",
}
ETAG: Described = {
    "ETag": {"description": "Of it as it stands.", "schema": {"type": "string"}},
}


def condition() -> Matches | None:
    """Give the condition that the request makes on what is changed, None for none."""
    return request.if_match.contains if request.headers.get("If-Match") is not None else None


def needed_condition() -> Matches:
    """Give the condition of a request that has to make one.

    Raises:
        ConditionMissing: Nothing is said of what was seen.
    """
    made = condition()
    if made is None:
        raise ConditionMissing(
            "This change needs the header If-Match.",
            advice="Read what is kept, and send back the ETag of that answer.",
        )
    return made


def refuse_unseen(what: str, tag: str, *, needed: bool = True) -> None:
    """Refuse a change by somebody who has not seen the newest state.

    Raises:
        ConditionMissing: Nothing is said of what was seen.
        StaleState: What was seen has changed since.
    """
    demand_seen(needed_condition() if needed else condition(), tag, what)


def with_tag(response: Response, tag: str) -> Response:
    """Give an answer the tag that a change of what it shows takes."""
    response.set_etag(tag)
    return response

"""What a caller would like but does not insist on: the header Prefer.

Source: RFC 7240, sections 2 (syntax), 3 (Preference-Applied) and 4.2 (return).
"""

from flask import Request, Response
from werkzeug.http import parse_list_header

HEADER, APPLIED = "Prefer", "Preference-Applied"
MINIMAL = "return=minimal"
PARAMETER = {
    "name": HEADER,
    "in": "header",
    "description": f"{MINIMAL} asks for the least that says what came of it (RFC 7240).",
    "schema": {"type": "string"},
}


def prefers_minimal(request: Request) -> bool:
    """Tell whether the caller would rather have a short answer; the first wish of a kind counts."""
    for wish in parse_list_header(", ".join(request.headers.getlist(HEADER))):
        name, _, value = wish.partition(";")[0].partition("=")
        if name.strip().lower() == "return":
            return value.strip().strip('"').lower() == "minimal"
    return False


def tell_minimal(response: Response) -> None:
    """Say that the wish was heard."""
    response.headers[APPLIED] = MINIMAL

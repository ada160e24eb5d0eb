"""The dealer's quote form: one page, which uses the public API with a publishable key alone."""

import re
from collections.abc import Iterable
from pathlib import Path

from flask import Blueprint, Response, make_response, render_template, request, send_from_directory

from service.api.context import context
from service.domain.errors import Unauthenticated
from service.usecases.callers import Caller

FILES = Path(__file__).parent / "static" / "form"
ASSETS = ("form.css", "form.js", "sketch.js", "answers.js")
# An origin goes into the policy only if nothing in it could end the directive.
_ORIGIN = re.compile(r"https?://[A-Za-z0-9.\-\[\]:]+")

blueprint = Blueprint("form", __name__, template_folder=str(FILES))


@blueprint.get("/form")
def page() -> Response:
    """Give the page of the dealer whose publishable key the address names."""
    key = request.args.get("key", "")
    caller = _caller(key)
    if caller is None:
        return _under_policy(make_response(render_template("absent.html"), 404), ())
    kept = context().open_stores(caller)
    head, settings = kept.letterheads.letterhead(), kept.forms.settings()
    shown = render_template("form.html", key=key, head=head, settings=settings)
    return _under_policy(make_response(shown), caller.origins)


@blueprint.get("/form/assets/<name>")
def assets(name: str) -> Response:
    """Give a style sheet or script of the page."""
    response = send_from_directory(FILES, name if name in ASSETS else "none", max_age=600)
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


def _caller(key: str) -> Caller | None:
    """Give whom a publishable key belongs to; a secret key has no place in an address."""
    try:
        caller = context().gate.caller(key, context().now())
    except Unauthenticated:
        return None
    return caller if caller.publishable else None


def _under_policy(response: Response, origins: Iterable[str]) -> Response:
    framing = " ".join(["'self'", *(one for one in origins if _ORIGIN.fullmatch(one))])
    response.headers["Content-Security-Policy"] = (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        f"connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors {framing}"
    )
    response.headers["Referrer-Policy"] = "same-origin"
    response.headers["Cache-Control"] = "no-store"
    return response

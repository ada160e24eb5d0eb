"""The settings of the dealer's quote form."""

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.conditions import ETAG, NEEDED_IF_MATCH, needed_condition, with_tag
from service.api.context import body, context, load_content, today
from service.api.operations import answer, json_of, operation
from service.api.schemas.codes import selection_of
from service.api.schemas.form import FORM_SETTINGS_REQUEST
from service.usecases.callers import Scope
from service.usecases.check_code import clauses_for
from service.usecases.form_settings import FIXED, FormSettings
from service.usecases.orders import Units

blueprint = Blueprint(
    "Form settings",
    __name__,
    url_prefix="/v1/form-settings",
    description="What the quote form on a dealer's web site offers, and at which prices.",
)
_SHOWN = {
    "heading": "What would your railing cost?",
    "units": "imperial",
    "system": {"stored": "Reedway, bronze"},
    "price_table": {"stored": "Retail"},
    "pricing": {"stored": "Retail rules"},
    "code": {"code": "IRC", "edition": "2021"},
}
_ANSWER = {
    200: {"description": "The settings.", "content": json_of("FormSettings"), "headers": ETAG}
}


@operation(
    blueprint,
    "GET ",
    "getFormSettings",
    "Read the settings of the quote form",
    needs=Scope.KEYS,
    answers=_ANSWER,
)
def read() -> Response:
    """Give the settings in force."""
    return _present(stores().forms.settings())


@operation(
    blueprint,
    "PUT ",
    "setFormSettings",
    "Set what the quote form offers",
    needs=Scope.KEYS,
    description="The form is the page /form?key=..., with a publishable key whose origins are the "
    "service's own, where the page comes from, and those of the sites that may frame it.",
    takes=FORM_SETTINGS_REQUEST,
    shown=_SHOWN,
    parameters=[NEEDED_IF_MATCH],
    answers=_ANSWER,
    refusals=(412, 428),
)
def change() -> Response:
    """Keep other settings, once everything they name was found."""
    seen = needed_condition()
    _raw, content = body()
    _pinned, read_as = load_content(FORM_SETTINGS_REQUEST, content)
    clauses_for(selection_of(read_as["code"]), today(), context().codes)
    fixed = {name: content[name] for name in FIXED}
    settings = FormSettings(read_as.get("heading", ""), Units(read_as["units"]), fixed)
    return _present(stores().forms.change(settings, context().now(), seen))


def _present(settings: FormSettings) -> Response:
    named = {name: settings.fixed.get(name) for name in FIXED}
    content = {"heading": settings.heading, "units": settings.units.value, **named}
    return with_tag(answer(content), str(settings.revision))

"""The units of the job that a request is about, in which it is refused too."""

from collections.abc import Mapping
from typing import Any

from flask import g
from marshmallow import Schema

from service.usecases.orders import Units

_PLAIN = Units.METRIC.value  # of a request that is about no job: lengths stay as they are told


def units_sent(schema: Schema, content: Any) -> str:
    """Tell the units that a body asks for, or has without asking."""
    field = schema.fields.get("units")
    if field is None:
        return _PLAIN
    sent = content.get("units", field.load_default) if isinstance(content, Mapping) else None
    return str(sent) if sent in tuple(Units) else _PLAIN


def note_units(units: str) -> None:
    """Remember the units of the job, for whatever the request is refused for from here on."""
    g.units = str(units)


def units_asked() -> str:
    """Give the units of the job as far as they are known."""
    return str(g.get("units", _PLAIN))

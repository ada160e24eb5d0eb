"""Short words for describing answers in JSON Schema 2020-12."""

from collections.abc import Iterable
from enum import StrEnum
from typing import Any

Described = dict[str, Any]

TEXT: Described = {"type": "string"}
WHOLE: Described = {"type": "integer"}
NUMBER: Described = {"type": "number"}
FLAG: Described = {"type": "boolean"}


def said(kind: Described, description: str) -> Described:
    """Add a description."""
    return {**kind, "description": description}


def text(description: str) -> Described:
    """Describe a text."""
    return said(TEXT, description)


def decimal(description: str) -> Described:
    """Describe an exact decimal, sent as text so that no reader rounds it."""
    return {"type": "string", "pattern": r"^-?\d+(\.\d+)?$", "description": description}


def one_of(values: Iterable[str], description: str = "", *, name: str = "") -> Described:
    """Describe a choice of texts, which bears the name of its enumeration or the one given."""
    words = [str(value) for value in values]
    choice: Described = {"type": "string"}
    choice |= {"enum": words} if len(words) > 1 else {"const": words[0]}
    if not name and isinstance(values, type) and issubclass(values, StrEnum):
        name = values.__name__
    if name:
        choice["title"] = name
    return said(choice, description) if description else choice


def ref(name: str) -> Described:
    """Refer to a described component."""
    return {"$ref": f"#/components/schemas/{name}"}


def spelled(choice: Described, names: Iterable[str]) -> Described:
    """Say what generated clients may call words that are no names in a programming language."""
    return {**choice, "x-enum-varnames": list(names)}


def titled(title: str, kind: Described) -> Described:
    """Name a record that stands inside another; else it is named for its place."""
    return {**kind, "title": title}


def or_null(kind: Described) -> Described:
    """Describe something that may be missing."""
    return {"anyOf": [kind, {"type": "null"}]}


def many(kind: Described, description: str = "") -> Described:
    """Describe a list."""
    return {"type": "array", "items": kind, **({"description": description} if description else {})}


def record(description: str = "", /, **members: Described) -> Described:
    """Describe an object whose members are always there."""
    return partial_record(description, (), **members)


def partial_record(
    description: str, optional: tuple[str, ...], /, **members: Described
) -> Described:
    """Describe an object whose optional members may be left out."""
    return {
        "type": "object",
        **({"description": description} if description else {}),
        "properties": members,
        "required": [name for name in members if name not in optional],
    }


NEXT = or_null(text("Cursor of the next page; the Link header has its address."))

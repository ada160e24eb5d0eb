"""What every request schema shares: unknown members are refused, complaints find their place."""

from collections.abc import Mapping
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields
from marshmallow.exceptions import SCHEMA

Path = tuple[str | int, ...]


def absent() -> None:
    """Stand for a member left out; a function, so that the document prints no default for it."""


# marshmallow's own say what is wrong and not what to do.
FIELD_MESSAGES = {
    "required": "This is needed; the API document says what it takes.",
    "null": "Null is no value here; send one, or leave the member out where it may be.",
}


class StrictSchema(Schema):
    """A schema that refuses what it does not know."""

    error_messages: dict[str, str] = {  # noqa: RUF012 - marshmallow declares it so
        "unknown": "No such member here; check its spelling against the API document.",
        "type": "Send an object.",
    }

    class Meta:
        """Refuse unknown members, and say so in the API document."""

        unknown = RAISE

    def __init_subclass__(cls, **options: Any) -> None:
        """Print the docstring of a schema in the API document."""
        super().__init_subclass__(**options)
        text = " ".join((cls.__doc__ or "").split())
        cls.Meta = type("Meta", (cls.Meta,), {"description": text})  # type: ignore[assignment, misc]

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Complain about absent values in our own words, in lists as well."""
        field_obj.error_messages.update(FIELD_MESSAGES)
        if isinstance(field_obj, fields.List):
            field_obj.inner.error_messages.update(FIELD_MESSAGES)


class Complaints:
    """Collects what is wrong between members, each at its path, to be raised together."""

    def __init__(self) -> None:
        self._tree: dict[str | int, Any] = {}

    def add(self, path: Path, message: str | Mapping[str, str]) -> None:
        """Note a complaint about the member at a path: a sentence, or one with advice."""
        branch = self._tree
        for step in path[:-1]:
            below = branch.setdefault(step, {})
            if isinstance(below, list):  # a complaint about the whole of what now has one inside
                below = branch[step] = {SCHEMA: below}
            branch = below
        last = branch.setdefault(path[-1], [])
        if isinstance(last, dict):
            last = last.setdefault(SCHEMA, [])
        last.append(message)

    def add_repeated(self, path: Path, names: list[str], member: str = "name") -> None:
        """Note each entry of a list whose name an earlier entry has."""
        seen: set[str] = set()
        for index, name in enumerate(names):
            if name in seen:
                self.add((*path, index, member), f"{name!r} is taken; give each its own {member}.")
            seen.add(name)

    def refuse(self) -> None:
        """Raise everything noted.

        Raises:
            ValidationError: Something was noted.
        """
        if self._tree:
            raise ValidationError(self._tree)

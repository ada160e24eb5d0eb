"""Components in place of what stands inside others, so that generated clients have good names.

A generator calls an inline object by its place ("cut_plan_bars_item") and repeats an inline choice
of words wherever it stands. Here each becomes a component: by its title where it has one, else an
object by its parent and its member ("CutPlanBar").
"""

from collections.abc import Mapping
from typing import Any

Node = dict[str, Any]
_OPAQUE = ("default", "enum", "example", "examples", "value")
_OF_THE_PLACE = ("default", "description")


def lift(document: Mapping[str, Any]) -> Node:
    """Give a document whose objects and named choices are all components.

    Args:
        document: An OpenAPI document; it is left as it is.

    Raises:
        ValueError: One name would stand for two things.
    """
    lifter = _Lifter()
    schemas = document["components"]["schemas"]
    for name, schema in schemas.items():
        lifter.keep(name, lifter.inside(schema, name))
    paths = lifter.anywhere(document["paths"], "")
    components = {**document["components"], "schemas": lifter.components}
    return {**document, "paths": paths, "components": components}


class _Lifter:
    def __init__(self) -> None:
        self.components: dict[str, Node] = {}

    def keep(self, name: str, schema: Node) -> None:
        if self.components.setdefault(name, schema) != schema:
            raise ValueError(f"{name} would name two different components; give one a title.")

    def anywhere(self, node: Any, name: str) -> Any:
        """Lift out of a node, and the node itself if it is to be a component."""
        if isinstance(node, list):
            return [self.anywhere(entry, name) for entry in node]
        if not isinstance(node, dict):
            return node
        return self._out_of_place(self.inside(node, name), name)

    def inside(self, schema: Node, name: str) -> Node:
        """Lift out of a schema what stands inside it."""
        return {key: self._member(key, value, name) for key, value in schema.items()}

    def _member(self, key: str, value: Any, name: str) -> Any:
        if key in _OPAQUE:
            return value
        if key == "properties":
            return {
                member: self.anywhere(below, name and name + _camel(member))
                for member, below in value.items()
            }
        return self.anywhere(value, _singular(name) if key == "items" else name)

    def _out_of_place(self, schema: Node, name: str) -> Node:
        named = schema.get("title")
        if "enum" in schema:
            stays = _OF_THE_PLACE if isinstance(named, str) else tuple(schema)
        elif schema.get("type") == "object" and "properties" in schema:
            named = named or name
            stays = ("default",) if named else tuple(schema)
        else:
            stays = tuple(schema)
        moved = {key: value for key, value in schema.items() if key not in (*stays, "title")}
        if not moved:
            return schema
        self.keep(str(named), moved)
        here = {key: value for key, value in schema.items() if key in stays}
        return {"$ref": f"#/components/schemas/{named}", **here}


def _camel(member: str) -> str:
    return "".join(word.capitalize() for word in member.split("_"))


def _singular(name: str) -> str:
    return name[:-1] if name.endswith("s") else name

"""What no part covers: said in the quote, because a gap in the parts list is money lost on site."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.domain.takeoff.parts import PartRule
from service.domain.takeoff.rules import Group, Groups

# The part of this category is the element itself; a cap alone does not cover its post.
_ITSELF = {
    "post": "post",
    "rail": "rail",
    "picket": "picket",
    "infill_rail": "rail",
    "cable": "cable",
    "panel": "panel",
}
# Kinds that cannot be built from nothing.
_NEED_A_PART = (*_ITSELF, "joint", "support_leg", "cable_end", "spreader", "clamp", "block", "gate")
# Elements named in a note before it says "and so many more".
_NAMED_IN_NOTE = 3


@dataclass(frozen=True, slots=True)
class Count:
    """A part rule with the groups it counts; several rules of one SKU make several counts."""

    rule: PartRule
    groups: Sequence[Group]


def uncovered(groups: Groups, counts_of_parts: Iterable[Sequence[Count]]) -> Iterable[str]:
    """Say which elements would have to be built from nothing.

    A post, rail, picket, cable or panel is covered by a part of that category, an infill rail by
    one of category "rail"; a joint, support leg, fitting or gate by any part.

    Args:
        groups: Every element of the job.
        counts_of_parts: For each SKU, its rules with what they count.

    Returns:
        One sentence for each group that no part covers.
    """
    covered = {
        id(matched)
        for counts in counts_of_parts
        for count in counts
        if count.rule.quantity and _is_itself(count.rule)
        for matched in count.groups
    }
    for kind in _NEED_A_PART:
        for left in groups.by_kind.get(kind, ()):
            if id(left) not in covered:
                yield _note(kind, left)


def _is_itself(rule: PartRule) -> bool:
    return rule.per not in _ITSELF or rule.category == _ITSELF[rule.per]


def _note(kind: str, left: Group) -> str:
    names = [element.name for element in left.elements]
    some = ", ".join(names[:_NAMED_IN_NOTE])
    more = f" and {len(names) - _NAMED_IN_NOTE} more" if len(names) > _NAMED_IN_NOTE else ""
    attributes = ", ".join(f"{name} {value}" for name, value in left.attributes.items() if value)
    which = kind.replace("_", " ") + (f" ({attributes})" if attributes else "")
    return f"No part is listed for {left.count} x {which}: {some}{more}."

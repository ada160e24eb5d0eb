"""What no part covers: said in the quote, because a gap in the parts list is money lost on site."""

from collections.abc import Iterable, Sequence

from service.domain.record import record
from service.domain.takeoff.kinds import Element
from service.domain.takeoff.matching import Group, Groups, Selection
from service.domain.takeoff.parts import PartRule

# The part of one of these categories is the element itself; a cap alone does not cover its post.
ITSELF = {
    "post": ("post",),
    "rail": ("rail",),
    "picket": ("picket",),
    "infill_rail": ("rail",),
    "cable": ("cable",),
    "panel": ("panel",),
    "handrail": ("handrail", "rail"),
}
# Kinds that cannot be built from nothing.
_NEED_A_PART = (
    *ITSELF,
    "joint",
    "line_post_joint",
    "support_leg",
    "cable_end",
    "spreader",
    "clamp",
    "block",
    "gate",
    "handrail_bracket",
    "handrail_return",
    "handrail_joint",
    "handrail_end",
)
# Elements named in a note before it says "and so many more".
_NAMED_IN_NOTE = 3


@record(frozen=True, slots=True)
class Count:
    """A part rule with what it counts; several rules of one SKU make several counts."""

    rule: PartRule
    selected: Selection


def is_itself(rule: PartRule) -> bool:
    """Tell whether the part is the element it is counted by, or may be anything that holds it."""
    return rule.per not in ITSELF or rule.category in ITSELF[rule.per]


def uncovered(groups: Groups, counts: Iterable[Count]) -> Iterable[str]:
    """Say which elements would have to be built from nothing.

    A post, rail, picket, cable or panel is covered by a part of that category, an infill rail by
    one of category "rail", a handrail by either; joints, legs, fittings, brackets and the like by
    any part.

    Args:
        groups: Every element of the job.
        counts: Every part rule with what it counts.

    Returns:
        One sentence for each group of alike elements that no part covers.
    """
    covered: set[int] = set()
    for count in counts:
        if count.rule.quantity and is_itself(count.rule):
            covered.update(count.selected.ranks)
    for kind in _NEED_A_PART:
        for group in groups.by_kind.get(kind, ()):
            left = [element for rank, element in group.ranked if rank not in covered]
            if left:
                yield _note(kind, group, left)


def unmeasured(along: str, name: str, selected: Selection) -> Iterable[str]:
    """Say which elements a rule counts along a length that is not known of them."""
    if names := selected.without(along):
        measure = along.replace("_", " ")
        yield f"{name} counts nothing for {_some(names)}: no {measure} is known."


def _note(kind: str, group: Group, left: Sequence[Element]) -> str:
    attributes = ", ".join(f"{name} {value}" for name, value in group.attributes.items() if value)
    which = kind.replace("_", " ") + (f" ({attributes})" if attributes else "")
    count = sum(element.count for element in left)
    return f"No part is listed for {count} x {which}: {_some([e.name for e in left])}."


def _some(names: Sequence[str]) -> str:
    some = ", ".join(names[:_NAMED_IN_NOTE])
    more = f" and {len(names) - _NAMED_IN_NOTE} more" if len(names) > _NAMED_IN_NOTE else ""
    return some + more

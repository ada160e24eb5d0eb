"""Pictures to be placed on a sheet, and elevations with a heading and sentences above."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.adapters.documents.extents import Box, bounds, joined, wrapped
from service.adapters.documents.labels import LARGE, SMALL
from service.adapters.documents.primitives import Group, Shape, Text

NARROWEST_HEADING = 88.0


@dataclass(frozen=True, slots=True)
class Picture:
    """Groups with an origin of their own, and the paper they take up."""

    groups: tuple[Group, ...]
    box: Box


def picture_of(groups: Iterable[Group]) -> Picture:
    """Measure groups as one picture."""
    groups = tuple(groups)
    return Picture(groups, bounds(shape for group in groups for shape in group.shapes))


def headed(
    identity: str,
    heading: str,
    title: str,
    body: Sequence[Shape],
    box: Box,
    sentences: Sequence[str],
    *,
    lettered: bool = True,
) -> Picture:
    """Letter a heading and facts above shapes that take up a box.

    Without lettering they are told by the group's title and description alone.
    """
    if not lettered:
        return Picture((Group(identity, title, tuple(body), " ".join(sentences)),), box)
    width = max(box.width, NARROWEST_HEADING)
    lines = [line for sentence in sentences for line in wrapped(sentence, SMALL, width)]
    top = box.top - 3.0 - len(lines) * SMALL * 1.4
    texts = [Text((box.left, top), heading, LARGE, bold=True)]
    for i, line in enumerate(lines, start=1):
        texts.append(Text((box.left, top + 0.6 + i * SMALL * 1.4), line, SMALL))
    group = Group(identity, title, (*texts, *body), " ".join(sentences))
    return Picture((group,), joined(box, bounds(texts)))

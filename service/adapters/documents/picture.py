"""A picture with its heading and the sentences above it."""

from collections.abc import Sequence

from service.adapters.documents.extents import bounds, wrapped
from service.adapters.documents.labels import LARGE, SMALL
from service.adapters.documents.primitives import Group, Shape, Text

NARROWEST_HEADING = 88.0


def headed(
    identity: str, heading: str, title: str, body: Sequence[Shape], sentences: Sequence[str]
) -> Group:
    """Letter a heading and facts above a picture."""
    box = bounds(body)
    width = max(box.width, NARROWEST_HEADING)
    lines = [line for sentence in sentences for line in wrapped(sentence, SMALL, width)]
    top = box.top - 3.0 - len(lines) * SMALL * 1.4
    texts: list[Shape] = [Text((box.left, top), heading, LARGE, bold=True)]
    for i, line in enumerate(lines, start=1):
        texts.append(Text((box.left, top + 0.6 + i * SMALL * 1.4), line, SMALL))
    return Group(identity, title, (*texts, *body), " ".join(sentences))

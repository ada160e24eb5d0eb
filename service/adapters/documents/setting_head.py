"""Sets the head of a document's first page: the dealer's letterhead."""

from collections.abc import Iterator

from service.adapters.documents.extents import Box
from service.adapters.documents.letters import POINT, Face, broken, face_of, width
from service.adapters.documents.setting import LEADING, Setter
from service.adapters.documents.sheet import Sheet
from service.adapters.documents.strips import Ink, Letters, Logo, Rule, Strip
from service.usecases.letterhead import png_size

_NAME = 15.0  # letter size [pt]
_SMALL = 8.5
_LOGO = (46.0, 20.0)  # the most it takes [mm]


def letterhead_strips(sheet: Sheet, setter: Setter) -> Iterator[Strip]:
    """Set the letterhead, if the sheet has one: logo and name at the left, the rest at the right.

    It is one strip: a dealer's lines are few, and what is too long for its half is broken.
    """
    head = sheet.letterhead
    if head is None or not (head.name or head.logo):
        return
    half = setter.room / 2 - 4.0
    inks: list[Ink] = []
    left, right = 0.0, 0.0
    if head.logo:
        box = _logo_box(head.logo)
        inks.append(Logo(head.logo, box, setter.root.add("Figure", alt=f"Logo of {head.name}")))
        left = box.bottom + 2.0
    tag = setter.root.add("P")
    for line in broken(head.name, _NAME, half, Face.BOLD):
        left += _NAME * POINT * LEADING
        inks.append(Letters(0.0, left - 1.6, line, _NAME, Face.BOLD, tag))
    lines = [*head.address, *head.contact, *([head.registration] if head.registration else [])]
    for text in lines:
        tag = setter.root.add("P")
        for line in broken(text, _SMALL, half, face_of(False)):
            right += _SMALL * POINT * LEADING
            x = setter.room - width(line, _SMALL)
            inks.append(Letters(x, right - 0.9, line, _SMALL, Face.PLAIN, tag))
    high = max(left, right) + 2.5
    inks.append(Rule((0.0, high), (setter.room, high), 0.5))
    yield Strip(high + 3.0, tuple(inks))


def _logo_box(logo: bytes) -> Box:
    wide, high = png_size(logo)
    by = min(_LOGO[0] / wide, _LOGO[1] / high)
    return Box(0.0, 0.0, wide * by, high * by)

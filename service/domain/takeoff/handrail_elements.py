"""Handrails as elements that part rules count: pieces, joints, brackets and ends."""

from collections.abc import Iterator

from service.domain.layout.records import Layout
from service.domain.layout.stair_records import Handrail
from service.domain.takeoff.kinds import Element, thousandths, yes


def handrail_elements(layout: Layout) -> Iterator[Element]:
    """Give each handrail's pieces with their lengths, its joints, brackets and ends."""
    for handrail in layout.handrails:
        yield from _pieces(handrail)
        mount = {"mount": handrail.mount.value}
        brackets = len(handrail.brackets_nm)
        yield Element("handrail_bracket", f"{handrail.name} brackets", mount, brackets)
        if handrail.returns_nm:
            returns = len(handrail.returns_nm)
            length_nm = handrail.returns_nm[0]
            yield Element("handrail_return", f"{handrail.name} returns", mount, returns, length_nm)
        else:
            yield Element("handrail_end", f"{handrail.name} ends", mount, 2)


def _pieces(handrail: Handrail) -> Iterator[Element]:
    """The level extension comes first, and bends where it meets the slope."""
    mount = {"mount": handrail.mount.value}
    level = bool(handrail.top_extension_nm)
    for number, length_nm in enumerate(handrail.pieces_nm, 1):
        attributes = {**mount, "raked": yes(not (level and number == 1))}
        yield Element("handrail", f"{handrail.name} piece {number}", attributes, 1, length_nm)
    for number in range(1, len(handrail.pieces_nm)):
        bend = {"angle_deg": thousandths(handrail.saw_deg) if level and number == 1 else 0}
        yield Element("handrail_joint", f"{handrail.name} joint {number}", mount, others=bend)

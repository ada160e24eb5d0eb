"""Handrails as elements that part rules count: their pieces, brackets and returned ends."""

from collections.abc import Iterator

from service.domain.layout.records import Layout
from service.domain.takeoff.kinds import Element


def handrail_elements(layout: Layout) -> Iterator[Element]:
    """Give each handrail's pieces with their lengths, then its brackets and returns."""
    for handrail in layout.handrails:
        mount = {"mount": handrail.mount.value}
        for number, length_nm in enumerate(handrail.pieces_nm, 1):
            name = f"{handrail.name} piece {number}"
            yield Element("handrail", name, mount, 1, length_nm)
        brackets = len(handrail.brackets_nm)
        yield Element("handrail_bracket", f"{handrail.name} brackets", mount, brackets)
        if handrail.returns_nm:
            returns = len(handrail.returns_nm)
            length_nm = handrail.returns_nm[0]
            yield Element("handrail_return", f"{handrail.name} returns", mount, returns, length_nm)

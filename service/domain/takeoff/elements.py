"""Every element of a layout that part and labour rules may count; ``kinds`` names them."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import cos, radians

from service.domain.layout.deck import OpeningKind
from service.domain.layout.framing import Block
from service.domain.layout.records import (
    Layout,
    Post,
    PostPosition,
    Rail,
    RailEnd,
    RailRow,
    Section,
)
from service.domain.takeoff.handrail_elements import handrail_elements
from service.domain.takeoff.infill_elements import cable_elements, infill_elements, posts_of_cables
from service.domain.takeoff.kinds import PLACES, Element, yes

# A taped corner is seldom square to the minute; a connector takes up this much. Common practice,
# no source.
ANGLED_FROM_DEG = 0.5

_STAIR_POSITIONS = frozenset(
    {PostPosition.STAIR_TOP, PostPosition.STAIR_LINE, PostPosition.STAIR_BOTTOM}
)


def elements_of(layout: Layout) -> tuple[Element, ...]:
    """List everything in a layout that a part or labour rule may count.

    Args:
        layout: The laid-out job.

    Returns:
        Posts in their order, then each section with its rails, infill, joints and legs, then
        cables, runs, handrails, blocks, gates, stairs and the deck.
    """
    cables = posts_of_cables(layout)
    ordered = (p for p in layout.posts if p.position is not PostPosition.EXISTING)
    elements = [_post(post, cables.get(post.name, "")) for post in ordered]
    for section in layout.sections:
        elements.extend(_of_section(section))
    elements.extend(cable_elements(layout))
    elements.extend(
        Element("run", run.name, _raked(run.rake is not None), length_nm=run.length_nm)
        for run in layout.runs
    )
    elements.extend(handrail_elements(layout))
    elements.extend(_block(block) for block in layout.blocks)
    elements.extend(_gates(layout))
    elements.extend(
        Element("stair", stair.name, {"bottom": stair.bottom.value}) for stair in layout.stairs
    )
    elements.append(Element("deck", "deck", {}))
    return tuple(elements)


def _raked(raked: bool) -> dict[str, str]:
    return {"raked": yes(raked)}


def _post(post: Post, cables: str) -> Element:
    attributes = {
        "position": post.position.value,
        "surface": str(post.surface),
        "stock": post.stock,
        "stair": yes(post.position in _STAIR_POSITIONS),
        "cables": cables,
    }
    return Element("post", post.name, attributes, length_nm=post.height_nm)


def _of_section(section: Section) -> Iterator[Element]:
    raked = _raked(section.rake is not None)
    name = section.name
    yield Element("section", name, raked, length_nm=section.length_nm, section=name)
    for rail in section.rails:
        attributes = {"place": rail.place, **raked}
        yield Element("rail", rail.name, attributes, 1, rail.length_nm, name, rail)
    row = section.pickets
    if row.centres_nm:
        yield Element("picket", f"{name} pickets", raked, len(row.centres_nm), row.length_nm, name)
    yield from infill_elements(section)
    places = [place for place in PLACES if any(rail.place == place for rail in section.rails)]
    for end in (section.start, section.end):
        for place in places:
            yield _joint(section, end, place, raked)
    for post, at_nm in zip(section.line_posts, section.line_posts_nm, strict=True):
        for place in places:
            rails = [rail for rail in section.rails if rail.place == place]
            yield _line_post_joint(section, rails, post, at_nm, raked)
    yield from _infill_joints(section, raked)
    yield from _support_legs(section, raked)


def _joint(section: Section, end: RailEnd, place: str, raked: Mapping[str, str]) -> Element:
    angled = abs(end.angle_deg) >= ANGLED_FROM_DEG
    attributes = {
        "joint": end.joint.value,
        "angle": "angled" if angled else "square",
        "place": place,
        **raked,
    }
    return Element(
        "joint", f"{section.name} {place} at {end.post}", attributes, section=section.name
    )


def _line_post_joint(
    section: Section, rails: Sequence[Rail], post: str, at_nm: int, raked: Mapping[str, str]
) -> Element:
    through = any(rail.start_nm < at_nm < _rail_end_nm(section, rail) for rail in rails)
    # Where no rail runs through, one rail ends before the post and one starts behind it.
    ends = any(r.start_nm < at_nm for r in rails) + any(r.start_nm >= at_nm for r in rails)
    place = rails[0].place
    attributes = {"place": place, "meets": "through" if through else "end", **raked}
    return Element(
        "line_post_joint",
        f"{section.name} {place} at {post}",
        attributes,
        1 if through else ends,
        section=section.name,
    )


def _support_legs(section: Section, raked: Mapping[str, str]) -> Iterator[Element]:
    """Give the legs of a section, those of one height together."""
    heights = Counter(section.support_leg_heights_nm)
    for number, (height_nm, count) in enumerate(heights.items(), 1):
        name = f"{section.name} support legs" + (f" {number}" if len(heights) > 1 else "")
        yield Element("support_leg", name, raked, count, height_nm, section.name)


def _block(block: Block) -> Element:
    ends = "angled" if any(block.end_deg) else "square"
    return Element("block", block.name, {"ends": ends}, len(block.plies), block.length_nm)


def _infill_joints(section: Section, raked: Mapping[str, str]) -> Iterator[Element]:
    """Give the joints of infill rails: each level of them is joined as the bottom rail is."""
    row = section.infill
    if not isinstance(row, RailRow):
        return
    count = len(row.heights_nm)
    for end in (section.start, section.end):
        yield replace(_joint(section, end, "infill", raked), count=count)
    lowest = row.rails[: len(row.rails) // count]
    for post, at_nm in zip(section.line_posts, section.line_posts_nm, strict=True):
        joint = _line_post_joint(section, lowest, post, at_nm, raked)
        yield replace(joint, count=count * joint.count)


def _rail_end_nm(section: Section, rail: Rail) -> int:
    """Give where a rail ends, horizontally from the centre of its section's start post [nm]."""
    if section.rake is None:
        return rail.start_nm + rail.length_nm
    return rail.start_nm + round(rail.length_nm * cos(radians(section.rake.angle_deg)))


def _gates(layout: Layout) -> Iterator[Element]:
    for level in layout.deck.levels:
        for edge in level.edges:
            for opening in edge.openings:
                if opening.kind is OpeningKind.GATE:
                    yield Element("gate", opening.name, {}, length_nm=opening.width_nm)

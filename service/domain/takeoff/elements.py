"""What a layout is made of, as things that part rules count.

One ``Element`` is one thing (or a row of equal things) with the attributes a rule may ask for.
The kinds, their attributes and what their length means are this table; ``KINDS`` holds the same
for validation, and a rule that asks for anything else is refused.

=================  ==========================================================  ===================
kind               attributes                                                  length of each one
=================  ==========================================================  ===================
post               position line|corner|end|gate|stair_top|stair_line|         cut height
                   stair_bottom; surface deck|fascia|tread|landing|slab|
                   grade; stock (name of the post stock); stair yes|no
rail               place top|bottom; raked yes|no                              blank to cut
picket             raked yes|no                                                cut length
joint              joint fixed|sleeve|bracket|stair; angle square|angled;      none
                   place top|bottom; raked yes|no
section            raked yes|no                                                centres, horizontal
line_post_joint    place top|bottom; meets through|end; raked yes|no           none
support_leg        raked yes|no                                                none
gate               none                                                        opening width
stair              bottom tread|landing|slab|grade                             none
run                raked yes|no                                                centres, horizontal
deck               none; there is one per job                                  none
=================  ==========================================================  ===================

A joint is one rail end at the post that starts or ends its section; joints to an existing post
count, the existing post itself is not ordered. A line_post_joint is one rail at a line post
inside a section: "through" where the rail runs past it, "end" for each rail that stops there.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import cos, radians

from service.domain.layout.deck import Footing, OpeningKind
from service.domain.layout.records import Layout, Post, PostPosition, Rail, RailEnd, Section
from service.domain.layout.system import JointKind

# A taped corner is seldom square to the minute; a connector takes up this much. Common practice,
# no source.
ANGLED_FROM_DEG = 0.5

Values = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of element.

    Attributes:
        attributes: Each attribute with its values; an empty tuple leaves the values to the system.
        has_length: True if a rule may count it by the metre or cut it from stock.
    """

    attributes: Mapping[str, Values] = field(default_factory=dict)
    has_length: bool = False


YES_NO = ("yes", "no")
PLACES = ("top", "bottom")
_FOOTINGS = tuple(footing.value for footing in Footing)
_STAIR_POSITIONS = frozenset(
    {PostPosition.STAIR_TOP, PostPosition.STAIR_LINE, PostPosition.STAIR_BOTTOM}
)

KINDS: Mapping[str, Kind] = {
    "post": Kind(
        {
            "position": tuple(p.value for p in PostPosition if p is not PostPosition.EXISTING),
            "surface": ("deck", "fascia", *_FOOTINGS),
            "stock": (),
            "stair": YES_NO,
        },
        has_length=True,
    ),
    "rail": Kind({"place": PLACES, "raked": YES_NO}, has_length=True),
    "picket": Kind({"raked": YES_NO}, has_length=True),
    "joint": Kind(
        {
            "joint": tuple(joint.value for joint in JointKind),
            "angle": ("square", "angled"),
            "place": PLACES,
            "raked": YES_NO,
        }
    ),
    "section": Kind({"raked": YES_NO}, has_length=True),
    "line_post_joint": Kind({"place": PLACES, "meets": ("through", "end"), "raked": YES_NO}),
    "support_leg": Kind({"raked": YES_NO}),
    "gate": Kind(has_length=True),
    "stair": Kind({"bottom": _FOOTINGS}),
    "run": Kind({"raked": YES_NO}, has_length=True),
    "deck": Kind(),
}


@dataclass(frozen=True, slots=True)
class Element:
    """One thing of the layout, or a row of equal things.

    Attributes:
        kind: A key of ``KINDS``.
        name: As the layout prints it; unique within its kind.
        attributes: Every attribute of its kind, in the order ``KINDS`` gives them.
        count: How many equal things stand behind the name.
        length_nm: Length of each one, None if its kind has none. [nm]
        section: Section it belongs to, "" for posts and the like.
        rail: The rail itself, for the saw.
    """

    kind: str
    name: str
    attributes: Mapping[str, str]
    count: int = 1
    length_nm: int | None = None
    section: str = ""
    rail: Rail | None = None


def elements_of(layout: Layout) -> tuple[Element, ...]:
    """List everything in a layout that a part or labour rule may count.

    Args:
        layout: The laid-out job.

    Returns:
        Posts in their order, then each section with its rails, pickets, joints and legs, then
        runs, gates, stairs and the deck.
    """
    elements = [_post(p) for p in layout.posts if p.position is not PostPosition.EXISTING]
    for section in layout.sections:
        elements.extend(_of_section(section))
    elements.extend(
        Element("run", run.name, _raked(run.rake is not None), length_nm=run.length_nm)
        for run in layout.runs
    )
    elements.extend(_gates(layout))
    elements.extend(
        Element("stair", stair.name, {"bottom": stair.bottom.value}) for stair in layout.stairs
    )
    elements.append(Element("deck", "deck", {}))
    return tuple(elements)


def _yes(truth: bool) -> str:
    return "yes" if truth else "no"


def _raked(raked: bool) -> dict[str, str]:
    return {"raked": _yes(raked)}


def _post(post: Post) -> Element:
    attributes = {
        "position": post.position.value,
        "surface": str(post.surface),
        "stock": post.stock,
        "stair": _yes(post.position in _STAIR_POSITIONS),
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
    places = [place for place in PLACES if any(rail.place == place for rail in section.rails)]
    for end in (section.start, section.end):
        for place in places:
            yield _joint(section, end, place, raked)
    for post, at_nm in zip(section.line_posts, section.line_posts_nm, strict=True):
        for place in places:
            yield _line_post_joint(section, post, at_nm, place, raked)
    if section.support_legs_nm:
        legs = len(section.support_legs_nm)
        yield Element("support_leg", f"{name} support legs", raked, legs, section=name)


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
    section: Section, post: str, at_nm: int, place: str, raked: Mapping[str, str]
) -> Element:
    rails = [rail for rail in section.rails if rail.place == place]
    through = any(rail.start_nm < at_nm < _rail_end_nm(section, rail) for rail in rails)
    # Where no rail runs through, one rail ends before the post and one starts behind it.
    ends = any(r.start_nm < at_nm for r in rails) + any(r.start_nm >= at_nm for r in rails)
    attributes = {"place": place, "meets": "through" if through else "end", **raked}
    return Element(
        "line_post_joint",
        f"{section.name} {place} at {post}",
        attributes,
        1 if through else ends,
        section=section.name,
    )


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

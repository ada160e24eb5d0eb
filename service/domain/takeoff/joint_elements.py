"""Rail ends at posts, and rails at line posts, as things that part rules count."""

from collections.abc import Iterator, Mapping, Sequence
from math import cos, radians

from service.domain.layout.records import (
    Layout,
    PostPosition,
    Rail,
    RailEnd,
    RailRow,
    Section,
)
from service.domain.takeoff.kinds import PLACES, Element, thousandths, yes

# A taped corner is seldom square to the minute; a connector takes up this much. Common practice,
# no source.
ANGLED_FROM_DEG = 0.5


class Joined:
    """What joints need to know of the whole layout.

    Attributes:
        existing: Names of the posts that are already there.
        perimeter_nm: Round a rail, by its place; of infill rails it is not known. [nm]
    """

    def __init__(self, layout: Layout) -> None:
        existing = (p.name for p in layout.posts if p.position is PostPosition.EXISTING)
        self.existing = frozenset(existing)
        rails = {"top": layout.system.top_rail, "bottom": layout.system.bottom_rail}
        self.perimeter_nm: dict[str, Mapping[str, int]] = {
            place: {"perimeter": 2 * (rail.depth_nm + rail.width_nm)}
            for place, rail in rails.items()
        }
        self.perimeter_nm["infill"] = {}


def joints_of(section: Section, joined: Joined) -> Iterator[Element]:
    """Give a section's rail ends, then its rails at line posts, then the same of infill rails.

    Each level of infill rails is joined as the bottom rail is.
    """
    by_place = [[rail for rail in section.rails if rail.place == place] for place in PLACES]
    rails = [here for here in by_place if here]
    for end in (section.start, section.end):
        for here in rails:
            yield _joint(section, end, here[0].place, joined)
    for post, at_nm in zip(section.line_posts, section.line_posts_nm, strict=True):
        for here in rails:
            yield _line_post_joint(section, here, post, at_nm, joined)
    row = section.infill
    if isinstance(row, RailRow):
        count = len(row.heights_nm)
        for end in (section.start, section.end):
            yield _joint(section, end, "infill", joined, count)
        lowest = row.rails[: len(row.rails) // count]
        for post, at_nm in zip(section.line_posts, section.line_posts_nm, strict=True):
            yield _line_post_joint(section, lowest, post, at_nm, joined, count)


def _joint(section: Section, end: RailEnd, place: str, joined: Joined, count: int = 1) -> Element:
    rake = section.rake
    attributes = {
        "joint": str(end.joint),
        "angle": "angled" if abs(end.angle_deg) >= ANGLED_FROM_DEG else "square",
        "place": place,
        "raked": yes(rake is not None),
        "to": "existing" if end.post in joined.existing else "post",
    }
    others = {
        "angle_deg": thousandths(end.angle_deg) if end.angle_deg else 0,
        "rake_deg": thousandths(rake.angle_deg) if rake else 0,
        **joined.perimeter_nm[place],
    }
    name = f"{section.name} {place} at {end.post}"
    return Element("joint", name, attributes, count, section=section.name, others=others)


def _line_post_joint(
    section: Section,
    rails: Sequence[Rail],
    post: str,
    at_nm: int,
    joined: Joined,
    levels: int = 1,
) -> Element:
    through = any(rail.start_nm < at_nm < _rail_end_nm(section, rail) for rail in rails)
    # Where no rail runs through, one rail ends before the post and one starts behind it.
    ends = len({rail.start_nm < at_nm for rail in rails})
    place = rails[0].place
    return Element(
        "line_post_joint",
        f"{section.name} {place} at {post}",
        {
            "place": place,
            "meets": "through" if through else "end",
            "raked": yes(section.rake is not None),
        },
        levels * (1 if through else ends),
        section=section.name,
        others=joined.perimeter_nm[place],
    )


def _rail_end_nm(section: Section, rail: Rail) -> int:
    """Give where a rail ends, horizontally from the centre of its section's start post [nm]."""
    if section.rake is None:
        return rail.start_nm + rail.length_nm
    return rail.start_nm + round(rail.length_nm * cos(radians(section.rake.angle_deg)))

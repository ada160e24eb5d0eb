"""Whether every post has a place of its own."""

import math
from collections import defaultdict
from collections.abc import Sequence

from service.domain.errors import UnbuildableLayout, Where
from service.domain.layout.deck import Deck
from service.domain.layout.outline import convex_overlap
from service.domain.layout.records import Post
from service.domain.lengths import MILLIMETRE, mm_of

# Posts that only touch, or overlap by what rounding does, are two posts.
TOUCHING_MM = 0.01


def refuse_posts_in_posts(deck: Deck, posts: Sequence[Post]) -> None:
    """Refuse a layout that would stand two posts of one level in the same place.

    Args:
        deck: Gives the place in the request of what brought them there.
        posts: As laid out.

    Raises:
        UnbuildableLayout: Two posts overlap in plan.
    """
    cell = max((post.width_nm for post in posts), default=0) * 3 // 2 + 1
    beside: dict[tuple[str, int, int, int], list[Post]] = defaultdict(list)
    for post in posts:
        x, y = post.at[0] // cell, post.at[1] // cell
        for near in ((x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            for other in beside.get((post.level, post.base_nm, *near), ()):
                if convex_overlap(_corners(post), _corners(other)):
                    raise _refusal(deck, other, post)
        beside[post.level, post.base_nm, x, y].append(post)


def _corners(post: Post) -> list[tuple[float, float]]:
    """Give the corners of a post in plan, going round. [mm]"""
    reach = mm_of(post.width_nm) / math.sqrt(2) - TOUCHING_MM
    x, y = mm_of(post.at[0]), mm_of(post.at[1])
    angles = [math.radians(post.axis_deg + turn) for turn in (45, 135, 225, 315)]
    return [(x + reach * math.cos(angle), y + reach * math.sin(angle)) for angle in angles]


def _refusal(deck: Deck, one: Post, other: Post) -> UnbuildableLayout:
    apart = math.dist(one.at, other.at)
    needed = (one.width_nm + other.width_nm) / 2 * math.sqrt(2) + max(one.width_nm, other.width_nm)
    return UnbuildableLayout(
        f"posts {one.name} ({one.position.replace('_', ' ')}, edge {one.edge}) and {other.name} "
        f"({other.position.replace('_', ' ')}, edge {other.edge}) of level {one.level} would stand "
        "in each other",
        element=f"level {one.level}, edge {other.edge}",
        where=_where(deck, other),
        advice="Move what stands there along its edge by at least "
        f"{max(1, math.ceil((needed - apart) / MILLIMETRE))} mm, or so that it meets the corner.",
    )


def _where(deck: Deck, post: Post) -> Where:
    for stair in deck.stairs:
        if stair.name == post.stair:
            return ("deck", "stairs", stair.index)
    level = next(level for level in deck.levels if level.name == post.level)
    edge = next((edge for edge in level.edges if edge.number == post.edge), None)
    return level.where(edge)

"""Whether every post has a place of its own, clear of other posts and of rails that pass."""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from service.domain.errors import UnbuildableLayout, Where
from service.domain.layout.deck import Deck
from service.domain.layout.outline import convex_overlap
from service.domain.layout.records import Post, Run
from service.domain.layout.system import RailingSystem
from service.domain.lengths import FOOT, MILLIMETRE, mm_of

# What only touches, or overlaps by what rounding does, is clear.
TOUCHING_MM = 0.01
# Posts are looked up by squares of this size, about a bay. [nm]
CELL_NM = 6 * FOOT

Corners = list[tuple[float, float]]
Cells = Mapping[tuple[str, int, int, int], Sequence[Post]]


def refuse_posts_in_the_way(
    deck: Deck, posts: Mapping[str, Post], runs: Sequence[Run], system: RailingSystem
) -> None:
    """Refuse a layout that stands a post in another post, or in a rail of level guard.

    Args:
        deck: Gives the place in the request of what brought them there.
        posts: As laid out, by name.
        runs: Their bays are what rails pass through.
        system: Gives the width of the rails.

    Raises:
        UnbuildableLayout: Two posts overlap in plan, or a post stands in a rail.
    """
    cells: dict[tuple[str, int, int, int], list[Post]] = defaultdict(list)
    for post in posts.values():
        x, y = post.at[0] // CELL_NM, post.at[1] // CELL_NM
        cells[post.level, post.base_nm, x, y].append(post)
    for post in posts.values():
        for other in _beside(post, post, cells):
            if other is not post and convex_overlap(_square(post), _square(other)):
                raise _refusal(deck, post, other, "stand in each other")
    rail_mm = mm_of(min(system.top_rail.width_nm, system.post_width_nm))
    for run in runs:
        if run.rake is not None:
            continue
        for bay in run.bays:
            a, b = posts[bay.start], posts[bay.end]
            for other in _beside(a, b, cells):
                own = other is a or other is b
                if not own and convex_overlap(_strip(a, b, rail_mm), _square(other)):
                    raise _refusal(deck, a, other, f"leave no way for the rail of {run.name}")


def _beside(a: Post, b: Post, cells: Cells) -> Iterator[Post]:
    """Give the posts near the line from one post to another, both on one surface."""
    (ax, ay), (bx, by) = a.at, b.at
    margin = a.width_nm + b.width_nm
    low_x, high_x = min(ax, bx) - margin, max(ax, bx) + margin
    low_y, high_y = min(ay, by) - margin, max(ay, by) + margin
    for x in range(low_x // CELL_NM, high_x // CELL_NM + 1):
        for y in range(low_y // CELL_NM, high_y // CELL_NM + 1):
            for post in cells.get((a.level, a.base_nm, x, y), ()):
                at_x, at_y = post.at
                if low_x <= at_x <= high_x and low_y <= at_y <= high_y:
                    yield post


def _square(post: Post) -> Corners:
    """Give the corners of a post in plan, going round. [mm]"""
    reach = mm_of(post.width_nm) / math.sqrt(2) - TOUCHING_MM
    x, y = mm_of(post.at[0]), mm_of(post.at[1])
    angles = [math.radians(post.axis_deg + turn) for turn in (45, 135, 225, 315)]
    return [(x + reach * math.cos(angle), y + reach * math.sin(angle)) for angle in angles]


def _strip(a: Post, b: Post, width_mm: float) -> Corners:
    """Give the ground under a rail from one post's centre to the other's, going round. [mm]"""
    (ax, ay), (bx, by) = ((mm_of(post.at[0]), mm_of(post.at[1])) for post in (a, b))
    length = math.dist((ax, ay), (bx, by))
    half = (width_mm / 2 - TOUCHING_MM) / length
    dx, dy = (bx - ax) * half, (by - ay) * half
    return [(ax + dy, ay - dx), (bx + dy, by - dx), (bx - dy, by + dx), (ax - dy, ay + dx)]


def _refusal(deck: Deck, one: Post, other: Post, what: str) -> UnbuildableLayout:
    apart = math.dist(one.at, other.at)
    needed = (one.width_nm + other.width_nm) / 2 * math.sqrt(2) + max(one.width_nm, other.width_nm)
    return UnbuildableLayout(
        f"{_called(one)} and {_called(other)} of level {one.level} would {what}",
        element=f"level {one.level}, edge {other.edge}",
        where=_where(deck, other),
        advice="Move what stands there along its edge by at least "
        f"{max(1, math.ceil((needed - apart) / MILLIMETRE))} mm, or so that it meets the corner.",
    )


def _called(post: Post) -> str:
    return f"post {post.name} ({post.position.replace('_', ' ')}, edge {post.edge})"


def _where(deck: Deck, post: Post) -> Where:
    for stair in deck.stairs:
        if stair.name == post.stair:
            return ("deck", "stairs", stair.index)
    level = next(level for level in deck.levels if level.name == post.level)
    edge = next((edge for edge in level.edges if edge.number == post.edge), None)
    return level.where(edge)

"""What carries each post: joist, rim or blocking, and where its fasteners land.

Source: that decking alone is never structure, and the classing by joist, rim and block, are
common practice, no source. The geometry is checked against shapely in ``tests/properties``.
"""

from collections.abc import Sequence

from service.domain.layout.block_schedule import BlockSchedule
from service.domain.layout.deck import Deck
from service.domain.layout.fascia_blocking import support_on_fascia
from service.domain.layout.framing import Block, PostSupport
from service.domain.layout.joists import joist_field
from service.domain.layout.plate_support import support_on_deck
from service.domain.layout.records import Post, PostPosition
from service.domain.layout.system import RailingSystem


def support_posts(
    deck: Deck, system: RailingSystem, posts: Sequence[Post]
) -> tuple[tuple[PostSupport, ...], tuple[Block, ...]]:
    """Say what carries each post on a level whose framing was taped, and what blocking to cut.

    Posts that already stand, and those on levels without framing, are left out. What carries a
    post on a tread, landing, slab or grade is for others to see to.

    Args:
        deck: Levels with their framing.
        system: Gives base plate, post width and mount.
        posts: As laid out, in order.

    Returns:
        A support for each post in order, and the block schedule.
    """
    fields = {level.name: joist_field(level) for level in deck.levels}
    levels = {level.name: level for level in deck.levels}
    schedule = BlockSchedule()
    supports = []
    for post in posts:
        field = fields.get(post.level)
        if field is None or post.position is PostPosition.EXISTING:
            continue
        if post.surface == "deck":
            supports.append(support_on_deck(post, field, system, schedule))
        elif post.surface == "fascia" and not post.base_nm:
            level = levels[post.level]
            supports.append(support_on_fascia(post, level, field, system, schedule))
        else:
            stands = f"stands on the {post.surface}"
            if post.surface == "fascia":
                stands = "hangs on the stair's side"
            note = f"It {stands}; what carries it there is by others."
            supports.append(PostSupport(post.name, (), (), (), 0, None, (note,)))
    return tuple(supports), schedule.blocks()


def support_notes(supports: Sequence[PostSupport]) -> tuple[str, ...]:
    """Give what the reader of the layout must know of posts that something else must carry."""
    notes = [
        f"{support.post}: {note}"
        for support in supports
        if support.supported is False
        for note in support.notes
    ]
    others = [support.post for support in supports if support.supported is None]
    if others:
        notes.append(f"What carries {', '.join(others)} off the deck is by others.")
    return tuple(notes)

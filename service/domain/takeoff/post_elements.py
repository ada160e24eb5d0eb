"""Posts as things that part rules count."""

from service.domain.layout.records import Layout, Post, PostPosition
from service.domain.takeoff.infill_elements import posts_of_cables
from service.domain.takeoff.kinds import Element, thousandths, yes

_STAIR_POSITIONS = frozenset(
    {PostPosition.STAIR_TOP, PostPosition.STAIR_LINE, PostPosition.STAIR_BOTTOM}
)


def post_elements(layout: Layout) -> list[Element]:
    """List the posts to order, in the layout's order; existing ones are not among them."""
    cables = posts_of_cables(layout)
    base = layout.system.base
    plate_nm = 4 * base.width_nm if base else None
    return [
        _post(post, cables.get(post.name, ""), plate_nm)
        for post in layout.posts
        if post.position is not PostPosition.EXISTING
    ]


def _post(post: Post, cables: str, plate_nm: int | None) -> Element:
    attributes = {
        "position": str(post.position),
        "surface": str(post.surface),
        "stock": post.stock,
        "stair": yes(post.position in _STAIR_POSITIONS),
        "cables": cables,
    }
    others = {"turn_deg": thousandths(post.turn_deg), "perimeter": 4 * post.width_nm}
    if plate_nm is not None and post.surface != "fascia":
        others["base_perimeter"] = plate_nm
    return Element("post", post.name, attributes, 1, post.height_nm, others=others)

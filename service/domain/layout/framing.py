"""Timber under a level as it was taped, and what the layout says of each post above it.

Plan coordinates as in ``deck``; a plan direction is anticlockwise from x.
"""

from dataclasses import dataclass

Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Framing:
    """Joists, rim and blocking stock of one level.

    The rim follows every edge of the outline, along a wall as the ledger; joists lie between.

    Attributes:
        joist_deg: Plan direction the joists run; a half turn makes no difference. [deg]
        spacing_nm: Centre to centre of neighbouring joists. [nm]
        first_joist_nm: Square to the joists, from the outline's leftmost corner (its lowest where
            the joists run along x) to the centre of the first joist. [nm]
        joist_thickness_nm, joist_depth_nm: Actual size of a joist. [nm]
        rim_thickness_nm: Actual thickness of the rim. [nm]
        block_thickness_nm, block_depth_nm: Actual size of the stock blocks are cut from. [nm]
        decking_nm: Thickness of the decking, which holds no fastener. [nm]
        overhang_nm: How far the decking's edge, the outline, stands out past the rim. [nm]
        block_fit_nm: Left out of a block's length so that it goes in. [nm]
    """

    joist_deg: float
    spacing_nm: int
    first_joist_nm: int
    joist_thickness_nm: int
    joist_depth_nm: int
    rim_thickness_nm: int
    block_thickness_nm: int
    block_depth_nm: int
    decking_nm: int
    overhang_nm: int = 0
    block_fit_nm: int = 0


@dataclass(frozen=True, slots=True)
class BasePlate:
    """The plate under a surface-mounted post, from the railing system's data.

    The distances to timber edges are the system's: no source read gives them. From memory, not
    read, NDS asks of lag screws in withdrawal 1.5 diameters to an edge and 4 to an end.

    Attributes:
        width_nm: Square plate, edge to edge. [nm]
        holes: (n, 2) fasteners from the post's centre: along the post's axis, and to its left. A
            line post's axis runs along its edge, and the deck lies to the left. [nm]
        fastener_nm: Diameter of a fastener. [nm]
        edge_distance_nm: Least from a fastener's centre to an edge of its timber. [nm]
        end_distance_nm: Least from it to the end of its timber. [nm]
    """

    width_nm: int
    holes: tuple[Place, ...]
    fastener_nm: int
    edge_distance_nm: int
    end_distance_nm: int


@dataclass(frozen=True, slots=True)
class FastenerLanding:
    """Where one fastener meets timber.

    Attributes:
        number: 1-based, in the order of the plate's holes.
        at: Plan position. [nm]
        timber: "joist 3", "rim", the block's name, or "" where there is none.
        edge_nm: To the nearest edge of that timber; past the rim's face and negative in the air.
        end_nm: To the nearest end of that timber; None in the rim or without timber. [nm]
        holds: Whether both reach the system's least distances.
    """

    number: int
    at: Place
    timber: str
    edge_nm: int
    end_nm: int | None
    holds: bool


@dataclass(frozen=True, slots=True)
class Block:
    """Blocking to cut and set between joists, square to them, before the post goes up.

    Attributes:
        name: "B1", "B2", ... in the order of the posts.
        posts: Posts that stand on it.
        between: What its two ends meet, such as ("joist 3", "joist 4").
        length_nm: Cut length of each ply, long point to long point. [nm]
        end_deg: How far each end cut is turned from square, anticlockwise in plan. [deg]
        plies: Plan positions of the middles of its plies; one piece of stock each. [nm]
    """

    name: str
    level: str
    posts: tuple[str, ...]
    between: tuple[str, str]
    length_nm: int
    end_deg: tuple[float, float]
    plies: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class PostSupport:
    """What carries a post.

    Attributes:
        over: Timber that lies under its base plate: "rim", "joist 3", ...
        blocks: Names of the blocks it needs.
        fasteners: Where each fastener lands; empty where the system gives no base plate.
        overhang_nm: How far its plate stands out past the rim's face. [nm]
        supported: False where something under it must change first; None where others see to it.
        notes: What is wrong and what to do, or who sees to it.
    """

    post: str
    over: tuple[str, ...]
    blocks: tuple[str, ...]
    fasteners: tuple[FastenerLanding, ...]
    overhang_nm: int
    supported: bool | None
    notes: tuple[str, ...] = ()

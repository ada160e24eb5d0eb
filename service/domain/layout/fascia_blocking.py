"""A post on the fascia: the rim it is bolted to, and the block behind it between joists.

Where joists meet the rim, the block lies tight behind the rim from joist to joist. Where they run
along it, one block either side of the post ties the rim to the joist behind, so that it cannot
turn. Source: that a side-mounted guard's joist is tied to its neighbours against rotation and
that no fastener relies on end grain is from memory of IRC 2021 R507.10.1.1; which block does it
is common practice, no source.
"""

import math

from service.domain.layout.block_schedule import BlockSchedule, Ply, cut_ply
from service.domain.layout.deck import Level
from service.domain.layout.framing import PostSupport
from service.domain.layout.joists import HAIR, UV, JoistField, inside
from service.domain.layout.outline import EdgeLine, edge_lines
from service.domain.layout.records import Post
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of, snap_mm

NO_RIM = (
    "Not supported: it stands past the end of the rim it would be bolted to. Use a corner bracket "
    "or two posts, one on each side of the corner."
)


def support_on_fascia(
    post: Post, level: Level, field: JoistField, system: RailingSystem, schedule: BlockSchedule
) -> PostSupport:
    """Say what is behind the rim at a fascia post, and add the blocks it needs."""
    line, along = _edge_of(post, level)
    if not 0.0 < along < mm_of(line.length_nm):
        return PostSupport(post.name, (), (), (), 0, False, (NO_RIM,))
    way = _turned(field, line)
    inner = field.framing.overhang_nm + field.framing.rim_thickness_nm
    behind = field.to_uv(line.point(snap_mm(along), inner))
    reach = 2 * field.spacing + mm_of(field.framing.first_joist_nm)
    near = field.near(behind, reach)
    half = mm_of(system.post_width_nm) / 2
    ends = [joist for x in _columns(system) if (joist := _joist_behind(near, behind, way, x))]
    notes = []
    if ends:
        notes.append(
            f"Not supported: a bolt would meet the end grain of {ends[0]}. Move the post along "
            f"the rim by at least {mm_of(field.framing.joist_thickness_nm):.0f} mm."
        )
    crossing = abs(way[1]) >= math.sqrt(0.5)
    plies = _along_rim(near, behind, way) if crossing else _across(near, behind, way, half)
    named, clashes = schedule.add(post.name, post.level, field, plies) if plies else ([], [])
    if not plies:
        notes.append("Not supported: no room for a block behind the rim. Pack it out solid.")
    sides = [(behind[0] + x * way[0], behind[1] + x * way[1]) for x in (-half, half)]
    found = dict.fromkeys(joist for at in (sides[0], behind, sides[1]) if (joist := _at(near, at)))
    return PostSupport(
        post=post.name,
        over=("rim", *found),
        blocks=tuple(dict.fromkeys(named)),
        fasteners=(),
        overhang_nm=0,
        supported=not notes,
        notes=(*notes, *clashes),
    )


def _columns(system: RailingSystem) -> tuple[float, ...]:
    """Give the bolts' places along the rim from the post's centre."""
    holes = system.base.holes if system.base else ((0, 0),)
    return tuple(sorted({mm_of(x) for x, _ in holes}))


def _edge_of(post: Post, level: Level) -> tuple[EdgeLine, float]:
    """Find the edge a post hangs on and how far along it stands; an arc has several of them."""
    found = []
    x, y = mm_of(post.at[0]), mm_of(post.at[1])
    for edge, line in zip(level.edges, edge_lines(level), strict=True):
        if edge.number == post.edge:
            dx, dy = x - mm_of(line.start[0]), y - mm_of(line.start[1])
            along = dx * line.ux + dy * line.uy
            past = max(-along, along - mm_of(line.length_nm), 0.0)
            found.append((past, line, along))
    _, line, along = min(found, key=lambda one: one[0])
    return line, along


def _turned(field: JoistField, line: EdgeLine) -> UV:
    return (
        line.ux * field.along[0] + line.uy * field.along[1],
        line.ux * field.across[0] + line.uy * field.across[1],
    )


def _at(field: JoistField, place: UV) -> str | None:
    joist = field.joist_at(place[1])
    return None if joist is None else f"joist {joist + 1}"


def _joist_behind(field: JoistField, behind: UV, way: UV, x: float) -> str | None:
    """Name the joist whose end a bolt would meet; one that runs along the rim has none there."""
    if abs(way[1]) < math.sqrt(0.5):
        return None
    return _at(field, (behind[0] + x * way[0], behind[1] + x * way[1]))


def _inward(field: JoistField, behind: UV, way: UV) -> UV:
    """Give the unit vector from the rim's inner face into the deck."""
    left = (-way[1], way[0])
    probe = (behind[0] + left[0], behind[1] + left[1])
    return left if inside(probe, field.inner) else (way[1], -way[0])


def _along_rim(field: JoistField, behind: UV, way: UV) -> list[Ply]:
    """Cut the block behind the rim; where a joist meets it at the post, one on each side."""
    half = mm_of(field.framing.block_thickness_nm) / 2
    inward = _inward(field, behind, way)
    middle = (behind[0] + half * inward[0], behind[1] + half * inward[1])
    joist = field.joist_at(middle[1])
    starts = [middle]
    if joist is not None:
        faces = [field.centre(joist) + sign * (field.half + 2 * HAIR) for sign in (-1.0, 1.0)]
        shifts = [(face - middle[1]) / way[1] for face in faces]
        starts = [(middle[0] + s * way[0], middle[1] + s * way[1]) for s in shifts]
    plies = []
    for start in starts:
        if not inside(start, field.inner):
            continue
        hits = [field.reach(start, (sign * way[0], sign * way[1])) for sign in (-1.0, 1.0)]
        slants = [half * abs(math.tan(math.radians(hit.off_square_deg))) for hit in hits]
        length_nm = snap_mm(sum(hit.away for hit in hits) + sum(slants))
        length_nm -= field.framing.block_fit_nm
        shift = (hits[1].away - hits[0].away) / 2
        turns = [round(hit.off_square_deg, 6) + 0.0 for hit in hits]
        at = field.to_plan((start[0] + shift * way[0], start[1] + shift * way[1]))
        if length_nm > 0:
            between = (hits[0].timber, hits[1].timber)
            plies.append(Ply(start[0], between, length_nm, (turns[0], turns[1]), at))
    return plies


def _across(field: JoistField, behind: UV, way: UV, half: float) -> list[Ply]:
    """Cut a block either side of the post, from the rim to the joist behind it."""
    off = half + mm_of(field.framing.block_thickness_nm) / 2
    inward = _inward(field, behind, way)
    plies = []
    for sign in (-1.0, 1.0):
        u = behind[0] + sign * off * way[0] + inward[0]
        v = behind[1] + sign * off * way[1] + inward[1]
        if inside((u, v), field.inner) and field.joist_at(v) is None:
            ply = cut_ply(field, u, v)
            if ply.length_nm > 0:
                plies.append(ply)
    return plies

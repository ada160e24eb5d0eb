"""A post on the deck: what lies under its base plate, and the blocking its fasteners need.

A fastener holds where it keeps the system's distances to the edges and ends of one piece of
timber. Between joists it needs a block, square to the joists and as many plies as its rows of
fasteners ask. Each ply counts as timber of its own, because plies are not glued.
"""

import math
from collections.abc import Mapping, Sequence

from service.domain.layout.block_schedule import BlockSchedule, Ply, cut_ply
from service.domain.layout.framing import BasePlate, FastenerLanding, PostSupport
from service.domain.layout.joists import HAIR, UV, JoistField, inside, sides, to_sides
from service.domain.layout.plies import Row, place_plies
from service.domain.layout.records import Post
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of, snap_mm

# A post's centre and its holes are each rounded to a nanometre, and turned in between. [nm]
ROUNDING_NM = 20
NANOMETRE = 1e-6  # [mm]


class _Standing:
    """A post on the deck: its plate and holes in joist coordinates."""

    def __init__(self, post: Post, field: JoistField, system: RailingSystem) -> None:
        self.base = system.base
        width = mm_of(self.base.width_nm if self.base else system.post_width_nm)
        axis = math.radians(post.axis_deg)
        self.ways = (math.cos(axis), math.sin(axis))
        self.x, self.y = mm_of(post.at[0]), mm_of(post.at[1])
        half = width / 2
        self.field = field
        self.centre = field.to_uv(post.at)
        corners = ((-half, -half), (half, -half), (half, half), (-half, half))
        self.plate = tuple(self._uv(a, b) for a, b in corners)
        holes = self.base.holes if self.base else ((0, 0),)
        self.spots = tuple(self._uv(mm_of(a), mm_of(b)) for a, b in holes)
        self.edge = mm_of(self.base.edge_distance_nm) if self.base else 0.0
        far = max(math.dist(self.centre, spot) for spot in (*self.plate, *self.spots))
        reach = max(field.spacing, mm_of(field.framing.first_joist_nm)) + 2 * field.half
        rim = mm_of(field.framing.rim_thickness_nm)
        thick = mm_of(field.framing.block_thickness_nm)
        self.near = field.near(self.centre, far + math.hypot(reach, thick) + rim)

    def _uv(self, ahead: float, left: float) -> UV:
        ux, uy = self.ways
        x, y = self.x + ahead * ux - left * uy, self.y + ahead * uy + left * ux
        along, across = self.field.along, self.field.across
        return x * along[0] + y * along[1], x * across[0] + y * across[1]


def support_on_deck(
    post: Post, field: JoistField, system: RailingSystem, schedule: BlockSchedule
) -> PostSupport:
    """Say what is under a post's plate and fasteners, and add the blocks they need.

    Without a base plate in the system's data the post's own foot stands for the plate, and its
    centre for the one fastener; nothing is then said of fasteners.
    """
    standing = _Standing(post, field, system)
    base = system.base
    notes: list[str] = []
    overhang_nm = _overhang_nm(standing)
    if overhang_nm > ROUNDING_NM:
        notes.append(
            f"Not supported: its plate stands {mm_of(overhang_nm):.1f} mm out past the rim. Set it "
            "back by as much, or bring the rim out to the decking's edge."
        )
    bays: dict[int, list[int]] = {}
    landings: dict[int, FastenerLanding] = {}
    for index, spot in enumerate(standing.spots):
        landing = _on_rim_or_joist(index, spot, standing)
        if landing is None:
            bays.setdefault(field.bay_at(spot[1]), []).append(index)
        else:
            landings[index] = landing
    blocks: list[str] = []
    for numbers in bays.values():
        rows = {index: _row(index, standing) for index in numbers}
        alone = {index: _placed([row], standing) for index, row in rows.items()}
        notes.extend(_too_near(index, standing) for index in numbers if alone[index] is None)
        together = [index for index in numbers if alone[index] is not None]
        plies = _plies({index: rows[index] for index in together}, standing) if together else ()
        if plies is None:
            notes.append(_no_plies(together, standing))
        named, clashes = schedule.add(post.name, post.level, field, plies or ())
        blocks.extend(named)
        notes.extend(clashes)
        landings |= {index: _landing(index, standing, "", 0.0, None) for index in numbers}
        for ply, name in zip(plies or (), named, strict=True):
            landings |= {index: _in_ply(index, standing, ply, name) for index in ply.fasteners}
    fasteners = tuple(landings[index] for index in range(len(standing.spots)))
    notes.extend(_notes_on(fasteners, base))
    if base is None:
        notes.append("The system gives no base plate: its fasteners are not checked.")
    return PostSupport(
        post=post.name,
        over=standing.near.timber_under(standing.plate),
        blocks=tuple(dict.fromkeys(blocks)),
        fasteners=fasteners if base else (),
        overhang_nm=max(overhang_nm, 0) if overhang_nm > ROUNDING_NM else 0,
        supported=overhang_nm <= ROUNDING_NM and all(f.holds for f in fasteners),
        notes=tuple(notes),
    )


def _overhang_nm(standing: _Standing) -> int:
    out = [
        to_sides(corner, standing.near.outer_near)
        for corner in standing.plate
        if not inside(corner, standing.field.outer)
    ]
    # At an inside corner of the deck the rim's corner may lie under the plate's middle.
    for (u, v), _ in standing.near.outer_near:
        if inside((u, v), standing.plate):
            out.append(to_sides((u, v), tuple(sides(standing.plate))))
    return snap_mm(max(out, default=0.0))


def _on_rim_or_joist(index: int, spot: UV, standing: _Standing) -> FastenerLanding | None:
    """Give the landing of a fastener in the air, the rim or a joist; None between joists."""
    field = standing.near
    if not inside(spot, field.outer):
        edge = min(-to_sides(spot, field.outer_near), -NANOMETRE)
        return _landing(index, standing, "", edge, None)
    if not inside(spot, field.inner):
        edge = min(to_sides(spot, field.outer_near), to_sides(spot, field.inner_near))
        return _landing(index, standing, "rim", edge, None)
    joist = field.joist_at(spot[1])
    if joist is None:
        return None
    edge = field.half - abs(spot[1] - field.centre(joist))
    end = to_sides(spot, field.inner_near)
    return _landing(index, standing, f"joist {joist + 1}", edge, end if end < math.inf else None)


def _landing(
    index: int, standing: _Standing, timber: str, edge: float, end: float | None
) -> FastenerLanding:
    base = standing.base
    edge_nm, end_nm = snap_mm(edge), None if end is None else snap_mm(end)
    needed = (base.edge_distance_nm, base.end_distance_nm) if base else (0, 0)
    holds = bool(timber) and edge_nm >= needed[0] - ROUNDING_NM
    if end_nm is not None:
        holds = holds and end_nm >= needed[1] - ROUNDING_NM
    at = standing.field.to_plan(standing.spots[index])
    return FastenerLanding(index + 1, at, timber, edge_nm, end_nm, holds)


def _row(index: int, standing: _Standing) -> Row:
    """Give a fastener as the plies of its bay see it, which must not meet the rim beside it."""
    field, (u, v) = standing.near, standing.spots[index]
    half = mm_of(field.framing.block_thickness_nm) / 2
    back, ahead = field.reach((u, v), (-1.0, 0.0)), field.reach((u, v), (1.0, 0.0))
    return Row(u, u - back.away + half, u + ahead.away - half)


def _placed(rows: Sequence[Row], standing: _Standing) -> tuple[float, ...] | None:
    thickness = mm_of(standing.field.framing.block_thickness_nm)
    return place_plies(rows, thickness, standing.edge)


def _plies(rows: Mapping[int, Row], standing: _Standing) -> list[Ply] | None:
    """Place plies in one bay for the fasteners that fall in it, by number."""
    centres = _placed(list(rows.values()), standing)
    if centres is None:
        return None
    half = mm_of(standing.field.framing.block_thickness_nm) / 2
    plies = []
    for centre in centres:
        reach = half - standing.edge + 3 * HAIR
        held = tuple(i for i in rows if abs(standing.spots[i][0] - centre) <= reach)
        v = sum(standing.spots[i][1] for i in held) / len(held)
        plies.append(cut_ply(standing.near, centre, v, held))
    return plies if all(ply.length_nm > 0 for ply in plies) else None


def _in_ply(index: int, standing: _Standing, ply: Ply, name: str) -> FastenerLanding:
    field, (u, v) = standing.near, standing.spots[index]
    half = mm_of(field.framing.block_thickness_nm) / 2
    edge = min(half - abs(u - ply.centre), to_sides((u, v), field.inner_near))
    end = math.inf
    for way in (-1.0, 1.0):
        hit = field.reach((u, v), (0.0, way))
        end = min(end, hit.away * math.cos(math.radians(hit.off_square_deg)))
    return _landing(index, standing, name, edge, end)


def _too_near(index: int, standing: _Standing) -> str:
    """Say why no single ply holds a fastener: its stock is too thin, or the rim is in the way."""
    thickness = mm_of(standing.field.framing.block_thickness_nm)
    name = f"Not supported: fastener {index + 1}"
    if thickness + HAIR < 2 * standing.edge:
        return (
            f"{name} needs a block at least {2 * standing.edge:.1f} mm thick; the stock is "
            f"{thickness:.1f} mm."
        )
    clear = to_sides(standing.spots[index], standing.near.inner_near)
    if clear >= standing.edge:
        return f"{name} stands where two rims leave no room for a block. Fill the corner solid."
    return (
        f"{name} is {clear:.1f} mm behind the rim's inner face, where a block leaves it no edge "
        f"of {standing.edge:.1f} mm. Move the post {standing.edge - clear:.1f} mm away from the "
        "rim, or towards it onto the rim."
    )


def _no_plies(numbers: Sequence[int], standing: _Standing) -> str:
    us = [standing.spots[i][0] for i in numbers]
    needed = max(us) - min(us) + 2 * standing.edge
    return (
        f"Not supported: plies of {mm_of(standing.field.framing.block_thickness_nm):.1f} mm cannot "
        f"hold fasteners {', '.join(str(i + 1) for i in numbers)} together, "
        f"{standing.edge:.1f} mm from every edge. Use one piece at least {needed:.1f} mm thick, "
        "or fill the bay solid."
    )


def _notes_on(fasteners: Sequence[FastenerLanding], base: BasePlate | None) -> list[str]:
    notes = []
    for landing in fasteners:
        if landing.holds or base is None:
            continue
        name = f"Not supported: fastener {landing.number}"
        if landing.edge_nm < 0:
            notes.append(
                f"{name} misses the rim by {mm_of(-landing.edge_nm):.1f} mm. Set the post back so "
                "that it lands in timber."
            )
        elif landing.timber and landing.edge_nm < base.edge_distance_nm - ROUNDING_NM:
            notes.append(
                f"{name} is {mm_of(landing.edge_nm):.1f} mm from the edge of {landing.timber}, "
                f"{mm_of(base.edge_distance_nm):.1f} mm is the least. Move the post, or double "
                f"{landing.timber} on that side."
            )
        elif landing.timber and landing.end_nm is not None:
            notes.append(
                f"{name} is {mm_of(landing.end_nm):.1f} mm from the end of {landing.timber}, "
                f"{mm_of(base.end_distance_nm):.1f} mm is the least. Move the post along the "
                "guard, or pack out the timber beside it."
            )
    return notes

"""What holds the posts: plates on timber or slab, and rows of fasteners through a rim."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.layout.deck import Footing
from service.domain.layout.records import Layout
from service.domain.lengths import mm_of
from service.domain.structure.base_plates import (
    ANCHOR_FACTOR,
    Grip,
    compression_block,
    edge_tension_n,
    grips,
)
from service.domain.structure.checks import Check, Unit
from service.domain.structure.fastener_checks import Pull, worst_pull_checks
from service.domain.structure.fasteners import WET_BEARING
from service.domain.structure.judging import (
    STATICS,
    check,
    figure,
    missing_parts,
    open_check,
    recalled,
    worst_of,
)
from service.domain.structure.loads import Load
from service.domain.structure.post_checks import FASCIA, LoadedPosts, force_and_arm, names_of
from service.domain.structure.rim_checks import rim_checks
from service.domain.structure.specification import (
    Direction,
    StructureSpec,
    Timber,
)

ETL = "US Army Corps of Engineers ETL 1110-2-534 (1994), Appendix A"
RIGID_PLATE = (
    "The plate is rigid, no axial load; the plate and its weld to the post are not checked"
)
TIMBER_BELOW = "The plate bears on structural timber all over; decking alone is never structure"
NO_GRADE = "What a post on grade is set in is not described"


@dataclass(frozen=True, slots=True)
class PlateSize:
    """A plate with everything about it known. [mm]"""

    thickness_mm: float
    grips: tuple[Grip, ...]


def fixing_checks(
    layout: Layout,
    groups: Mapping[tuple[str, bool], Sequence[LoadedPosts]],
    spec: StructureSpec,
    loads: Mapping[bool, Sequence[Load]],
) -> Iterator[Check]:
    """Check what holds the posts of each group, for each load at their top."""
    for (surface, stair), posts in groups.items():
        for load in loads[stair]:
            if surface == FASCIA:
                yield from rim_checks(posts, spec, load)
            elif surface == Footing.GRADE:
                yield open_check("post footing", names_of(posts), NO_GRADE, load=load)
            elif surface == Footing.SLAB:
                yield from _on_slab(layout, posts, spec, load)
            else:
                yield from _on_timber(layout, posts, spec, load)


def plate_size(layout: Layout, spec: StructureSpec) -> PlateSize | None:
    """Give the plate of the request, filled in from the system's.

    None if something is missing, or a hole lies outside the plate.
    """
    plate, own = spec.base, layout.system.base
    if plate is None:
        return None
    width = plate.width_nm or (own.width_nm if own else None)
    depth = plate.depth_nm or (own.width_nm if own else None)
    holes = plate.holes or (own.holes if own else None)
    if width is None or depth is None or not holes:
        return None
    if any(2 * abs(along) >= width or 2 * abs(inward) >= depth for along, inward in holes):
        return None
    places = tuple((mm_of(along), mm_of(inward)) for along, inward in holes)
    found = grips(mm_of(width), mm_of(depth), places)
    outward_only = spec.load_direction is Direction.DOWN_AND_OUT
    return PlateSize(mm_of(plate.thickness_nm), found[:1] if outward_only else found)


def _decking_mm(layout: Layout, posts: LoadedPosts, timber: Timber) -> float | None:
    if timber.decking_nm is not None:
        return mm_of(timber.decking_nm)
    framings = {level.name: level.framing for level in layout.deck.levels}
    framing = framings.get(posts.level)
    return mm_of(framing.decking_nm) if framing else None


def _on_timber(
    layout: Layout, posts: Sequence[LoadedPosts], spec: StructureSpec, load: Load
) -> Iterator[Check]:
    """Check plates on timber: bearing, then what the fasteners in tension take."""
    names, plate = names_of(posts), plate_size(layout, spec)
    fastener, timber = spec.fastener, spec.timber
    if plate is None or fastener is None or timber is None:
        missing = missing_parts({
            "structure.base and system.base: plate, and holes within it": plate,
            "structure.fastener: what holds the plate": fastener,
            "structure.timber: the species it holds in": timber,
        })  # fmt: skip
        yield open_check("base plate on timber", names, missing, load=load)
        return
    f_c = timber.species.f_c_perp_mpa
    if f_c is None:
        missing = f"No bearing strength of {timber.species.name} across the grain is held."
        yield open_check("base plate on timber", names, missing, load=load)
        return
    bearing_mpa = f_c * (WET_BEARING if timber.wet else 1.0)
    bearings, pulls = [], []
    for one in posts:
        force, arm = force_and_arm(one, spec, load)
        decking = _decking_mm(layout, one, timber)
        side = None if decking is None else plate.thickness_mm + decking
        for grip in plate.grips:
            bearing, pull = _block(one, grip, force, arm, bearing_mpa, timber, load)
            bearings.append(bearing)
            if pull is not None:
                pulls.append(Pull(one.names, *pull, side, load))
    yield worst_of(bearings)
    yield from worst_pull_checks(pulls, fastener, timber, bearing_mpa)


def _block(
    posts: LoadedPosts,
    grip: Grip,
    force: float,
    arm: float,
    f_c: float,
    timber: Timber,
    load: Load,
) -> tuple[Check, tuple[float, float] | None]:
    """Balance the moment on the timber; give the check and the pull and shear of one fastener."""
    moment = force * arm
    block = compression_block(moment, grip.across_mm, grip.arm_mm, f_c)
    wet = ", wet (0.67)" if timber.wet else ""
    edge = edge_tension_n(moment, grip.arm_mm, grip.count)
    inputs = [
        figure("P", "force on the post", force, Unit.FORCE),
        figure("h", "its arm above the plate", arm, Unit.LENGTH),
        figure("B", "length of the compressed edge", grip.across_mm, Unit.LENGTH),
        figure("d", "from the fasteners in tension to that edge", grip.arm_mm, Unit.LENGTH),
        figure("f_c", f"bearing strength of {timber.species.name}{wet}", f_c, Unit.STRESS),
        figure("n", "fasteners in tension", grip.count, Unit.NUMBER),
    ]
    if block.tension_n is not None and block.depth_mm is not None:
        each = block.tension_n / grip.count
        inputs += [
            figure("a", "depth of the compression block", block.depth_mm, Unit.LENGTH),
            figure("T", "tension of one fastener, f_c B a / n", each, Unit.FORCE),
            figure("T_edge", "by the edge formula P h / (n d), for comparison", edge, Unit.FORCE),
        ]
    made = check(
        "base plate bearing",
        posts.names,
        "M = P h; greatest M = f_c B d^2 / 2; a = d - sqrt(d^2 - 2 M / (f_c B))",
        tuple(inputs),
        figure("M", "moment at the foot", moment, Unit.MOMENT),
        figure(
            "M_max", "greatest moment the timber can balance",
            f_c * grip.across_mm * grip.arm_mm**2 / 2, Unit.MOMENT,
        ),
        source=f"{STATICS}, rectangular compression block",
        load=load,
        assumptions=(
            RIGID_PLATE, TIMBER_BELOW,
            *recalled(timber.species.name, timber.species.cited, {"f_c_perp"}),
            *(("From memory, to be confirmed against print: wet factor 0.67",) if timber.wet
              else ()),
        ),
    )  # fmt: skip
    if block.tension_n is None:
        return made, None
    return made, (block.tension_n / grip.count, force / grip.count)


def _on_slab(
    layout: Layout, posts: Sequence[LoadedPosts], spec: StructureSpec, load: Load
) -> Iterator[Check]:
    """Check anchors in a slab by the edge formula and its factor."""
    plate, anchor = plate_size(layout, spec), spec.slab_anchor
    if plate is None or anchor is None or anchor.tension_n is None:
        missing = missing_parts({
            "structure.base and system.base: plate, and holes within it": plate,
            "structure.slab_anchor: the anchors and their allowable tension": anchor,
        })  # fmt: skip
        yield open_check("anchors in the slab", names_of(posts), missing, load=load)
        return
    made = []
    for one in posts:
        force, arm = force_and_arm(one, spec, load)
        for grip in plate.grips:
            tension = ANCHOR_FACTOR * edge_tension_n(force * arm, grip.arm_mm, grip.count)
            made.append(check(
                "anchors in the slab",
                one.names,
                "T = 1.65 P h / (n d)",
                (
                    figure("P", "force on the post", force, Unit.FORCE),
                    figure("h", "its arm above the plate", arm, Unit.LENGTH),
                    figure("d", "from the anchors in tension to the compressed edge",
                           grip.arm_mm, Unit.LENGTH),
                    figure("n", "anchors in tension", grip.count, Unit.NUMBER),
                ),
                figure("T", "tension of one anchor", tension, Unit.FORCE),
                figure("T_a", "allowable tension by its maker", anchor.tension_n, Unit.FORCE),
                source=f"{ETL}; {anchor.rating or 'rating as given in the request'}",
                load=load,
                assumptions=(RIGID_PLATE, "The slab, its edges and its cracks are not checked"),
            ))  # fmt: skip
    yield worst_of(made)

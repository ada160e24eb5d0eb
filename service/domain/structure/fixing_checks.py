"""What holds the posts: plates on timber or slab, and rows of fasteners through a rim."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

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
from service.domain.structure.checks import Check, CheckOutcome, Unit
from service.domain.structure.fastener_checks import Pull, pull_checks
from service.domain.structure.fasteners import WET_BEARING
from service.domain.structure.judging import (
    STATICS,
    check,
    figure,
    open_check,
    recalled,
    worst_of,
)
from service.domain.structure.loads import Load
from service.domain.structure.post_checks import FASCIA, LoadedPosts, force_and_arm, names_of
from service.domain.structure.side_mount import (
    FREE_RIM_BOLTED_N,
    FREE_RIM_LAGGED_N,
    FREE_RIM_SOURCE,
    two_bolts,
)
from service.domain.structure.specification import (
    Direction,
    Fastener,
    FastenerKind,
    SideMount,
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
                yield from _side(posts, spec, load)
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
        missing = _missing({
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
    yield from _worst_of_each(pulls, fastener, timber, bearing_mpa)


def _worst_of_each(
    pulls: Sequence[Pull], fastener: Fastener, timber: Timber, bearing_mpa: float | None
) -> Iterator[Check]:
    """Give the worst of each check on the fasteners."""
    found: dict[str, list[Check]] = {}
    for pull in pulls:
        for made in pull_checks(pull, fastener, timber, bearing_mpa):
            found.setdefault(made.name, []).append(made)
    for checks in found.values():
        yield worst_of(checks)


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
        missing = _missing({
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


def _side(posts: Sequence[LoadedPosts], spec: StructureSpec, load: Load) -> Iterator[Check]:
    """Check the upper row of a side-mounted post, and whether its rim is held."""
    names, side, timber = names_of(posts), spec.side_mount, spec.timber
    if side is None or timber is None:
        missing = _missing({
            "structure.side_mount: drop, spacing and fasteners": side,
            "structure.timber: the species of the rim": timber,
        })  # fmt: skip
        yield open_check("side mount", names, missing, load=load)
        return
    f_c = timber.species.f_c_perp_mpa
    bearing_mpa = f_c * (WET_BEARING if timber.wet else 1.0) if f_c else None
    pulls = []
    for one in posts:
        force, arm = force_and_arm(one, spec, load)
        couple = two_bolts(force, arm, mm_of(side.spacing_nm))
        note = (
            figure("a", "from the force down to the upper row", arm, Unit.LENGTH),
            figure("s", "between the rows", mm_of(side.spacing_nm), Unit.LENGTH),
            figure("C", "push of the lower row", couple.lower_compression_n, Unit.FORCE),
        )
        each = couple.upper_tension_n / side.per_row
        formula = "T = P (a + s) / (s n)"
        pulls.append(Pull(one.names, each, 0.0, mm_of(side.bracket_nm), load, formula, note))
    yield from _worst_of_each(pulls, side.fastener, timber, bearing_mpa)
    yield _rim(names, side, load)


def _rim(names: Sequence[str], side: SideMount, load: Load) -> Check:
    """Say whether the rim can take a post at all; one that may roll fails far below the load."""
    name = "rim held against rotation"
    if side.rim_held is None:
        missing = "structure.side_mount.rim_held: whether the rim is held against rotation"
        return open_check(name, names, missing, load=load)
    if side.rim_held:
        given = ("Given in the request: the rim is tied to the neighbouring joists",)
        open_one = open_check(name, names, "", load=load, assumptions=given)
        return replace(open_one, outcome=CheckOutcome.OK, source=FREE_RIM_SOURCE)
    lagged = side.fastener.kind is FastenerKind.LAG
    failed = FREE_RIM_LAGGED_N if lagged else FREE_RIM_BOLTED_N
    return check(
        name,
        names,
        "tests of wood posts on a rim free to roll; 2.5 times 200 lb is the target",
        (),
        figure("P_test", "mean load at failure", failed, Unit.FORCE),
        figure("P_target", "2.5 times 200 lb", 2.5 * 200 * 4.4482216152605, Unit.FORCE),
        source=FREE_RIM_SOURCE,
        load=load,
        more_is_better=True,
        assumptions=("The tests were on 4x4 wood posts and a 2x8 rim of wet southern pine",),
    )


def _missing(parts: Mapping[str, object]) -> str:
    return "; ".join(words for words, part in parts.items() if part is None)

"""Posts as cantilevers: bending and deflection under the load on the top of the guard."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.layout.records import Layout, Post, PostPosition
from service.domain.layout.system import Method
from service.domain.lengths import mm_of
from service.domain.structure.checks import Check, Figure, Unit
from service.domain.structure.judging import (
    BEAM_TABLES,
    STATICS,
    bending,
    check,
    figure,
    open_check,
    recalled,
    worst_of,
)
from service.domain.structure.loads import Load
from service.domain.structure.members import cantilever_deflection_mm, e985_post_mm
from service.domain.structure.specification import Direction, Member, StructureSpec

FASCIA = "fascia"
E985 = "ASTM E985 limit h/12 as quoted by others, a house check: no code held limits it"
ONE_POST = "One post takes the whole load; none is shared along the rail"
SQUARE = "The load acts square to the guard or along it, not across the corner of the section"
RIGID = "The foot is rigid: turning of the base and of the framing comes on top"
MIDDLE = "A continuous rail sends 10/8 of its half spans to a post in its middle"
CONTINUOUS_REACTION = 10 / 8


@dataclass(frozen=True, slots=True)
class LoadedPosts:
    """Posts that are loaded alike.

    Attributes:
        names: In order.
        surface: What they stand on.
        stair: Whether they belong to a stair.
        height_mm: From the top of the rail to the surface they stand on. [mm]
        tributary_mm: Length of guard that leans on each. [mm]
        reaction: Of a continuous rail over the plain half spans.
        corner: Whether two runs meet at them.
        level: Level they belong to.
    """

    names: tuple[str, ...]
    surface: str
    stair: bool
    height_mm: float
    tributary_mm: float
    reaction: float
    corner: bool
    level: str


def loaded_posts(layout: Layout) -> dict[tuple[str, bool], tuple[LoadedPosts, ...]]:
    """Give the posts by surface and stair, equal ones together; existing posts are left out."""
    tributary: dict[str, int] = defaultdict(int)
    for run in layout.runs:
        for bay in run.bays:
            tributary[bay.start] += bay.span_nm
            tributary[bay.end] += bay.span_nm
    alike: dict[tuple[str, bool, int, int, bool, bool, str], list[str]] = defaultdict(list)
    inside = {name for section in layout.sections for name in section.line_posts}
    for post in layout.posts:
        if post.position is not PostPosition.EXISTING:
            corner = post.position is PostPosition.CORNER
            middle = post.name in inside and layout.system.method is Method.CONTINUOUS
            key = (post.surface, bool(post.stair), _height_nm(post, layout), tributary[post.name],
                   middle, corner, post.level)  # fmt: skip
            alike[key].append(post.name)
    groups: dict[tuple[str, bool], list[LoadedPosts]] = defaultdict(list)
    for (surface, stair, height, leaning, middle, corner, level), names in alike.items():
        reaction = CONTINUOUS_REACTION if middle else 1.0
        groups[surface, stair].append(
            LoadedPosts(tuple(names), surface, stair, mm_of(height), mm_of(leaning) / 2, reaction,
                        corner, level)
        )  # fmt: skip
    return {key: tuple(found) for key, found in groups.items()}


def _height_nm(post: Post, layout: Layout) -> int:
    """Give the height of the rail's top above the surface the post stands on. [nm]"""
    drop = layout.system.fascia_drop_nm if post.surface == FASCIA else 0
    return post.height_nm - layout.system.post_above_rail_nm - drop


def arm_mm(posts: LoadedPosts, spec: StructureSpec) -> float:
    """Give the arm that bends a post: down to its surface, or to the upper row on a fascia. [mm]"""
    if posts.surface == FASCIA and spec.side_mount:
        return posts.height_mm + mm_of(spec.side_mount.drop_nm)
    return posts.height_mm


def force_and_arm(posts: LoadedPosts, spec: StructureSpec, load: Load) -> tuple[float, float]:
    """Give what a load does to a post: a force and its arm about what holds it. [N], [mm]"""
    arm = arm_mm(posts, spec)
    return load.on_post(posts.tributary_mm, posts.height_mm, arm, posts.reaction)


def post_checks(
    groups: Mapping[tuple[str, bool], Sequence[LoadedPosts]],
    spec: StructureSpec,
    loads: Mapping[bool, Sequence[Load]],
) -> Iterator[Check]:
    """Check the posts of each group for each load at their top.

    Args:
        groups: Posts by surface and stair.
        spec: What they are made of.
        loads: At the top, by whether it is a stair.
    """
    for (surface, stair), posts in groups.items():
        names = [name for one in posts for name in one.names]
        for load in loads[stair]:
            if spec.post is None:
                missing = "structure.post: the section and alloy of the posts"
                yield open_check("post bending", names, missing, load=load)
            elif surface == FASCIA and spec.side_mount is None:
                missing = "structure.side_mount: how far down the upper fasteners lie"
                yield open_check("post bending", names, missing, load=load)
            else:
                yield worst_of(_bending(one, spec.post, spec, load) for one in posts)
                if load.kind is not Unit.PRESSURE:
                    yield worst_of(_deflection(one, spec.post, spec, load) for one in posts)


def _bending(posts: LoadedPosts, member: Member, spec: StructureSpec, load: Load) -> Check:
    section = member.section
    any_way = spec.load_direction is Direction.ANY or posts.corner
    force, arm = force_and_arm(posts, spec, load)
    return bending(
        "post bending",
        posts.names,
        member,
        section.weaker if any_way else section.outward,
        figure("M", "moment at the foot", force * arm, Unit.MOMENT),
        formula="M = P h; f = M / S",
        inputs=_inputs(posts, load, force, arm),
        load=load,
        source=STATICS,
        assumptions=_assumptions(posts, load),
    )


def _deflection(posts: LoadedPosts, member: Member, spec: StructureSpec, load: Load) -> Check:
    section, alloy = member.section, member.alloy
    any_way = spec.load_direction is Direction.ANY or posts.corner
    i_mm4 = section.weaker.i_mm4 if any_way else section.outward.i_mm4
    force, arm = force_and_arm(posts, spec, load)
    moved = cantilever_deflection_mm(force, arm, alloy.e_mpa, i_mm4)
    return check(
        "post deflection",
        posts.names,
        "d = P h^3 / (3 E I); limit h / 12",
        (
            *_inputs(posts, load, force, arm),
            figure("E", f"modulus of elasticity, {alloy.name}", alloy.e_mpa, Unit.STRESS),
            figure("I", f"second moment of area, {section.name}", i_mm4, Unit.SECOND_MOMENT),
        ),
        figure("d", "movement of the top", moved, Unit.LENGTH),
        figure("limit", "h / 12", e985_post_mm(arm), Unit.LENGTH),
        source=f"{BEAM_TABLES}. {E985}",
        load=load,
        house=True,
        assumptions=(
            *_assumptions(posts, load), RIGID, *recalled(alloy.name, alloy.cited, {"e"})
        ),
    )  # fmt: skip


def _inputs(posts: LoadedPosts, load: Load, force: float, arm: float) -> tuple[Figure, ...]:
    inputs = [
        figure("P", "force on the post", force, Unit.FORCE),
        figure("h", "from that force down to what holds the post", arm, Unit.LENGTH),
    ]
    if load.kind is not Unit.FORCE:
        inputs += [
            figure("w", "load as given", load.value, load.kind),
            figure("l", "length of guard that leans on the post", posts.tributary_mm, Unit.LENGTH),
        ]
    return tuple(inputs)


def _assumptions(posts: LoadedPosts, load: Load) -> tuple[str, ...]:
    if load.kind is Unit.FORCE:
        return ONE_POST, SQUARE
    return (SQUARE, MIDDLE) if posts.reaction > 1 else (SQUARE,)


def names_of(posts: Iterable[LoadedPosts]) -> tuple[str, ...]:
    """Give the names of all posts, in order."""
    return tuple(name for one in posts for name in one.names)

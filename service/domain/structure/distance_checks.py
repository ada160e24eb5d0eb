"""Distances of lag screws and bolts to each other and to the edges and ends of their timber."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from service.domain.layout.framing import FastenerLanding
from service.domain.layout.records import Layout
from service.domain.lengths import mm_of
from service.domain.structure.base_plates import hole_spacing_mm
from service.domain.structure.checks import Check, CheckOutcome, Unit
from service.domain.structure.fasteners import LEAST_EDGE, LEAST_END, LEAST_SPACING
from service.domain.structure.judging import check, figure, open_check
from service.domain.structure.loads import Load
from service.domain.structure.post_checks import LoadedPosts, names_of
from service.domain.structure.specification import (
    Fastener,
    FastenerKind,
    SideMount,
    StructureSpec,
)

DISTANCES = "NDS distances of fasteners in withdrawal, from memory"
AS_LAID_OUT = "Distances between centres, or from a centre, as given or as laid out"


def distance_checks(
    layout: Layout, posts: Sequence[str], spec: StructureSpec, loads: Sequence[Load]
) -> Iterator[Check]:
    """Check spacing, edge and end distances of the fasteners under plates on timber.

    What the request does not give is taken from where the layout found each fastener to land.

    Args:
        layout: Posts with the blocking under them.
        posts: Names of those that stand on timber.
        spec: Plate and fastener.
        loads: At their top; the checks decide the same clauses.
    """
    fastener = spec.fastener
    if not posts or fastener is None or fastener.kind is FastenerKind.RATED:
        return
    yield from _deciding(loads, (
        _spacing(layout, posts, spec, fastener),
        _edge(layout, posts, fastener),
        _end(layout, posts, fastener),
    ))  # fmt: skip


def rim_distance_checks(
    layout: Layout, posts: Sequence[LoadedPosts], side: SideMount | None, loads: Sequence[Load]
) -> Iterator[Check]:
    """Check spacing, edge and end distances of fasteners through a rim.

    Args:
        layout: Framing of the levels; the rim is taken as deep as their joists.
        posts: Those on the side of a rim.
        side: How they are fixed.
        loads: At their top; the checks decide the same clauses.
    """
    if side is None or side.fastener.kind is FastenerKind.RATED:
        return
    fastener, names = side.fastener, names_of(posts)
    missing = "structure.side_mount.spacing"
    edge = "structure.side_mount.fastener.edge_distance, or the framing of the deck"
    least = _rim_edge_mm(layout, posts, side)
    yield from _deciding(loads, (
        _distance("fastener spacing", names, fastener, mm_of(side.spacing_nm), LEAST_SPACING,
                  missing),
        _distance("edge distance", names, fastener, least, LEAST_EDGE, edge),
        _rim_end(posts, fastener),
    ))  # fmt: skip


def _rim_edge_mm(layout: Layout, posts: Sequence[LoadedPosts], side: SideMount) -> float | None:
    """Give the least distance of a row to the rim's edges, as given or by the framing."""
    if side.fastener.edge_nm is not None:
        return mm_of(side.fastener.edge_nm)
    framings = {level.name: level.framing for level in layout.deck.levels}
    found = []
    for one in posts:
        framing = framings.get(one.level)
        if framing is None:
            return None
        above = side.drop_nm - framing.decking_nm
        found += [above, framing.joist_depth_nm - above - side.spacing_nm]
    return max(0.0, mm_of(min(found)))


def _rim_end(posts: Sequence[LoadedPosts], fastener: Fastener) -> Check:
    names = names_of(posts)
    if fastener.end_nm is not None or any(one.corner for one in posts):
        least = None if fastener.end_nm is None else mm_of(fastener.end_nm)
        missing = "structure.side_mount.fastener.end_distance: posts near a corner are near an end"
        return _distance("end distance", names, fastener, least, LEAST_END, missing)
    beyond = ("The ends of the rim lie beyond every post",)
    unended = open_check("end distance", names, "", assumptions=beyond)
    return replace(unended, outcome=CheckOutcome.OK, source=DISTANCES)


def _deciding(loads: Sequence[Load], checks: Iterable[Check]) -> Iterator[Check]:
    """Let checks decide the clauses of loads they do not depend on."""
    clauses = tuple(dict.fromkeys(clause for load in loads for clause in load.clauses))
    return (replace(made, clauses=clauses) for made in checks)


def _spacing(
    layout: Layout, posts: Sequence[str], spec: StructureSpec, fastener: Fastener
) -> Check:
    own = layout.system.base
    holes = (spec.base.holes if spec.base else None) or (own.holes if own else ())
    spacing = hole_spacing_mm((mm_of(along), mm_of(inward)) for along, inward in holes)
    missing = "structure.base.holes or system.base.holes: where the fasteners are"
    return _distance("fastener spacing", posts, fastener, spacing, LEAST_SPACING, missing)


def _edge(layout: Layout, posts: Sequence[str], fastener: Fastener) -> Check:
    given = None if fastener.edge_nm is None else mm_of(fastener.edge_nm)
    landed = [mm_of(one.edge_nm) for one in _landings(layout, posts)]
    least = given if given is not None else min(landed, default=None)
    missing = "structure.fastener.edge_distance, or the framing of the deck and system.base"
    return _distance("edge distance", posts, fastener, least, LEAST_EDGE, missing)


def _end(layout: Layout, posts: Sequence[str], fastener: Fastener) -> Check:
    given = None if fastener.end_nm is None else mm_of(fastener.end_nm)
    landings = _landings(layout, posts)
    landed = [mm_of(one.end_nm) for one in landings if one.end_nm is not None]
    if given is None and landings and not landed:
        rim = ("Every fastener that meets timber meets a rim, whose ends lie beyond",)
        unended = open_check("end distance", posts, "", assumptions=rim)
        return replace(unended, outcome=CheckOutcome.OK, source=DISTANCES)
    least = given if given is not None else min(landed, default=None)
    missing = "structure.fastener.end_distance, or the framing of the deck and system.base"
    return _distance("end distance", posts, fastener, least, LEAST_END, missing)


def _landings(layout: Layout, posts: Sequence[str]) -> tuple[FastenerLanding, ...]:
    """Give where the fasteners of some posts meet timber, as far as the layout knows."""
    named = set(posts)
    return tuple(
        landing
        for support in layout.supports
        if support.post in named
        for landing in support.fasteners
    )


def _distance(
    name: str,
    posts: Sequence[str],
    fastener: Fastener,
    least_mm: float | None,
    diameters: float,
    missing: str,
) -> Check:
    """Hold a least distance against so many diameters."""
    if least_mm is None:
        return open_check(name, posts, missing)
    diameter = mm_of(fastener.diameter_nm)
    return check(
        name,
        posts,
        f"at least {diameters:g} D",
        (figure("D", "diameter", diameter, Unit.LENGTH),),
        figure("distance", "least found or given", least_mm, Unit.LENGTH),
        figure("limit", f"{diameters:g} D", diameters * diameter, Unit.LENGTH),
        source=DISTANCES,
        more_is_better=True,
        assumptions=(AS_LAID_OUT,),
    )

"""Elements of a layout as clauses see them: which run, which stair, how far one can fall."""

from collections.abc import Iterator
from fractions import Fraction

from service.domain.compliance.exact import Exact
from service.domain.layout.deck import Edge, EdgeKind, Level, Side, Stair
from service.domain.layout.records import Layout, Run, Section, StairPlan


def edge_name(level: str, number: int) -> str:
    """Name an edge as the refusals of the layout do."""
    return f"level {level}, edge {number}"


def open_edges(layout: Layout) -> Iterator[tuple[Level, Edge]]:
    """Give the edges a person could fall from, those with an existing guard among them."""
    for level in layout.deck.levels:
        for edge in level.edges:
            if edge.kind is not EdgeKind.WALL:
                yield level, edge


def stairs(layout: Layout) -> Iterator[tuple[Stair, StairPlan]]:
    """Give each stair as taped with its plan."""
    taped = {stair.name: stair for stair in layout.deck.stairs}
    for plan in layout.stairs:
        yield taped[plan.name], plan


def unit_rise_nm(stair: Stair, plan: StairPlan) -> Fraction:
    """Give the exact riser of the flight as laid out. [nm]"""
    return Fraction(plan.rake.rise_nm, stair.risers)


def unit_run_nm(stair: Stair, plan: StairPlan) -> Fraction:
    """Give the exact run of one tread, nosing to nosing, as laid out. [nm]"""
    return Fraction(plan.rake.run_nm, stair.risers)


def stair_drop_nm(stair: Stair, plan: StairPlan) -> Fraction:
    """Give the drop beside the highest tread, the ground there being level with the foot. [nm]

    The walking surface at the head of the flight belongs to its level, not to the stair.
    """
    return plan.rake.rise_nm - unit_rise_nm(stair, plan)


def stair_runs(layout: Layout, name: str) -> dict[Side, Run]:
    """Give the runs of guard along a stair by side."""
    return {run.side: run for run in layout.runs if run.stair == name and run.side is not None}


def sections_with_runs(layout: Layout, *, raked: bool) -> Iterator[tuple[Section, Run]]:
    """Give the sections on stairs, or those on the level, each with its run."""
    runs = {run.name: run for run in layout.runs}
    for section in layout.sections:
        run = runs[section.run]
        if bool(run.stair) is raked:
            yield section, run


def drops_nm(layout: Layout) -> dict[str, Exact | None]:
    """Give how far one can fall beside each edge, section, post and stair, None if not taped."""
    edges: dict[tuple[str, int], Exact | None] = {
        (level.name, edge.number): edge.fall_height_nm
        for level in layout.deck.levels
        for edge in level.edges
    }
    flights: dict[str, Exact] = {s.name: stair_drop_nm(s, plan) for s, plan in stairs(layout)}
    drops: dict[str, Exact | None] = {
        edge_name(level, number): drop for (level, number), drop in edges.items()
    }
    for post in layout.posts:
        drops[post.name] = flights.get(post.stair, edges.get((post.level, post.edge)))
    runs = {run.name: run for run in layout.runs}
    for run in layout.runs:
        drops[run.name] = flights.get(run.stair, run.fall_height_nm)
    for section in layout.sections:
        drops[section.name] = drops[runs[section.run].name]
    return drops | flights

"""Measures of handrails: need, height, reach along the flight, ends, and grip.

The top rail of a stair guard is taken as the stair's handrail; no other handrail is described. Its
profile is known by depth and width alone, so that perimeter and cross dimension lie between those
of the slimmest and the fullest section that fill this box.
"""

from collections.abc import Iterator
from fractions import Fraction

from service.domain.compliance.elements import sections_with_runs, stair_runs, stairs, unit_run_nm
from service.domain.compliance.exact import Measured, Span, Surd
from service.domain.compliance.measurement import Attribute, Measurement
from service.domain.layout.deck import Footing, Point, Side, Stair
from service.domain.layout.records import Layout, Post, PostPosition, Run, StairPlan
from service.domain.layout.system import Method

GRIP_ATTRIBUTES = frozenset({"risers", "perimeter", "shape"})
AS_HANDRAIL = "The top rail of the stair guard is taken as the handrail."


def handrail_needs(layout: Layout) -> Iterator[Measurement]:
    """Count the risers of each flight, and say whether a rail runs along it.

    Beside a wall a handrail may stand that the layout does not describe.
    """
    for stair, _plan in stairs(layout):
        if stair_runs(layout, stair.name):
            present, note = True, f"{AS_HANDRAIL} It must pass the clauses on height and grip too."
        elif stair.open_sides == set(Side):
            present, note = False, "Both sides are open and no rail runs along the stair."
        else:
            present, note = None, "A handrail on the wall beside the stair is not described."
        yield Measurement(stair.name, stair.risers, {"risers": stair.risers}, note, present)


def handrail_heights(layout: Layout) -> Iterator[Measurement]:
    """Measure the top of each stair's rail above the nosing line."""
    taped = {stair.name: stair for stair in layout.deck.stairs}
    for section, run in sections_with_runs(layout, raked=True):
        yield Measurement(
            section.name,
            layout.system.stair_guard_height_nm,
            {"risers": taped[run.stair].risers},
            AS_HANDRAIL,
        )


def handrail_continuity(layout: Layout) -> Iterator[Measurement]:
    """See whether each rail runs unbroken from above the top riser to above the lowest one."""
    posts = {post.name: post for post in layout.posts}
    for stair, plan in stairs(layout):
        for side, run in sorted(stair_runs(layout, stair.name).items()):
            reasons = _breaks(layout, stair, plan, run, posts)
            yield Measurement(
                stair.name,
                int(not reasons),
                {"risers": stair.risers},
                " ".join([f"Rail on the {side} side.", *reasons]),
            )


def _breaks(
    layout: Layout, stair: Stair, plan: StairPlan, run: Run, posts: dict[str, Post]
) -> list[str]:
    top, bottom = posts[run.start], posts[run.end]
    lowest_nosing = (stair.risers - 1) * unit_run_nm(stair, plan)
    reasons = []
    if _down_the_stair_nm(plan, top.at) > 0:
        reasons.append("It begins beyond the top riser.")
    # A starting newel may stand on the lowest tread, which reaches one run up from its nosing.
    allowed = unit_run_nm(stair, plan) if bottom.surface == Footing.TREAD else stair.nosing_nm
    if _down_the_stair_nm(plan, bottom.at) < lowest_nosing - allowed:
        reasons.append("It ends before the lowest riser.")
    if len(run.bays) > 1 and layout.system.method is Method.BETWEEN_POSTS:
        reasons.append("Posts between its ends break it.")
    return reasons


def _down_the_stair_nm(plan: StairPlan, at: Point) -> int:
    """Project a plan point on the walking line: 0 at the top nosing, growing downwards. [nm]"""
    (left_x, left_y), _right = plan.top
    return round((at[0] - left_x) * plan.down[0] + (at[1] - left_y) * plan.down[1])


def handrail_ends(layout: Layout) -> Iterator[Measurement]:
    """See whether each end of a stair's rail stops in a post that reaches up to it."""
    posts = {post.name: post for post in layout.posts}
    plans = {stair.name: (stair, plan) for stair, plan in stairs(layout)}
    for section, run in sections_with_runs(layout, raked=True):
        stair, plan = plans[run.stair]
        short = [
            end.post
            for end in (section.start, section.end)
            if end.post not in posts or not _reaches_rail(layout, plan, posts[end.post])
        ]
        note = f"Post {' and '.join(short)} does not reach up to the rail." if short else ""
        yield Measurement(section.name, int(not short), {"risers": stair.risers}, note)


def _reaches_rail(layout: Layout, plan: StairPlan, post: Post) -> bool:
    if post.position is PostPosition.EXISTING:
        return True
    fallen = Fraction(plan.rake.rise_nm, plan.rake.run_nm) * _down_the_stair_nm(plan, post.at)
    rail_top = layout.system.stair_guard_height_nm - fallen
    sunk = layout.system.fascia_drop_nm if post.surface == "fascia" else 0
    return post.base_nm + post.height_nm - sunk >= rail_top - layout.system.top_rail.depth_nm


def grip_perimeters(layout: Layout) -> Iterator[Measurement]:
    """Measure the perimeter of the rail a hand goes round, between its possible bounds."""
    yield from _grips(layout, _perimeter(layout))


def grip_cross_dimensions(layout: Layout) -> Iterator[Measurement]:
    """Measure the greatest dimension across the rail, between its possible bounds."""
    rail = layout.system.top_rail
    across = Surd(Fraction(0), 1, Fraction(rail.depth_nm**2 + rail.width_nm**2))
    yield from _grips(layout, Span(max(rail.depth_nm, rail.width_nm), across))


def grip_widths(layout: Layout) -> Iterator[Measurement]:
    """Measure the width of the rail above any finger recess."""
    yield from _grips(layout, layout.system.top_rail.width_nm)


def undescribed_grips(layout: Layout) -> Iterator[Measurement]:
    """Name each stair section whose rail has a form that depth and width do not tell."""
    yield from _grips(layout, None)


def _perimeter(layout: Layout) -> Span:
    """Bound the perimeter of any section that fills the rail's box: a diamond to a rectangle."""
    depth, width = layout.system.top_rail.depth_nm, layout.system.top_rail.width_nm
    return Span(Surd(Fraction(0), 1, Fraction(4 * (depth**2 + width**2))), 2 * (depth + width))


def _grips(layout: Layout, value: Measured | None) -> Iterator[Measurement]:
    taped = {stair.name: stair for stair in layout.deck.stairs}
    rail = layout.system.top_rail
    for section, run in sections_with_runs(layout, raked=True):
        attributes: dict[str, Attribute] = {
            "risers": taped[run.stair].risers,
            "perimeter": _perimeter(layout),
            "shape": None if rail.depth_nm == rail.width_nm else "not round",
        }
        yield Measurement(section.name, value, attributes, AS_HANDRAIL)

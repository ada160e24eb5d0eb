"""Gates: leaf, hinge and latch post, and room to swing.

The leaf closes the opening between two posts but for the gaps its hinges and latch need. Its top
is level with the guard.
"""

import math
from collections.abc import Sequence

from service.domain.errors import UnbuildableLayout
from service.domain.layout.advised import at_most
from service.domain.layout.deck import Level, OpeningKind, Side, Swing
from service.domain.layout.edge_plan import EdgePlan, LevelPlan
from service.domain.layout.frame import Frame
from service.domain.layout.gate_posts import gate_station, post_of
from service.domain.layout.gate_records import Gate
from service.domain.layout.outline import EdgeLine, convex_overlap
from service.domain.layout.records import ClearOpening, Post, StairPlan, Step
from service.domain.layout.system import GateParts
from service.domain.lengths import MILLIMETRE, mm_of, snap_mm

PlanSpot = tuple[float, float]


def hang_gates(
    frame: Frame, plans: Sequence[LevelPlan], stairs: Sequence[StairPlan]
) -> tuple[Gate, ...]:
    """Give every gate of the job its leaf and its posts, and note what its swing meets.

    Where the system describes no gates, none is sized and a note says so.

    Raises:
        UnbuildableLayout: A leaf is wider than the system hangs, has no width, or swings out over
            a stair; or no supplied gate post is high enough.
    """
    gates = []
    for plan in plans:
        for edge in plan.edges:
            for number, placed in enumerate(edge.openings):
                if placed.opening.kind is not OpeningKind.GATE:
                    continue
                if frame.system.gates is None:
                    frame.notes.append(
                        f"Gate {placed.opening.name}: the system describes no gates, so its leaf "
                        "is not sized."
                    )
                else:
                    gates.append(_hang(frame, plan, edge, number, frame.system.gates, stairs))
    return tuple(gates)


def gate_steps(gates: Sequence[Gate], done: int) -> tuple[Step, ...]:
    """Give the steps that hang the gates, once every post stands.

    Args:
        gates: The gates.
        done: Number of the last step before.
    """
    return tuple(
        Step(
            number,
            gate.name,
            f"Hang gate {gate.name} on {gate.hinge_post}, to swing {gate.swing.value}, and set its "
            f"latch on {gate.latch_post}.",
            (gate.hinge_post, gate.latch_post),
            (),
        )
        for number, gate in enumerate(gates, done + 1)
    )


def _hang(
    frame: Frame,
    plan: LevelPlan,
    edge: EdgePlan,
    number: int,
    parts: GateParts,
    stairs: Sequence[StairPlan],
) -> Gate:
    opening, taped = edge.openings[number].opening, plan.level.edges[edge.index]
    names = [
        post_of(
            gate_station(plan, edge.index, number, low=low),
            plan.level.name,
            frame.stood,
            frame.stair_posts,
        )
        for low in (True, False)
    ]
    for name in names:
        frame.reinforce(name, plan.level.where(taped))
    low, high = (frame.posts[name] for name in names)
    opening_nm = _along(edge.line, high) - _along(edge.line, low)
    opening_nm -= _half_nm(edge.line, low) + _half_nm(edge.line, high)
    leaf_nm = opening_nm - parts.hinge_gap_nm - parts.latch_gap_nm
    _refuse_leaf(plan, edge, opening.name, leaf_nm, parts)
    if abs(opening_nm - opening.width_nm) > MILLIMETRE:
        frame.notes.append(
            f"Gate {opening.name}: {mm_of(opening_nm):.1f} mm clear between {low.name} and "
            f"{high.name}, where {mm_of(opening.width_nm):.1f} mm was asked."
        )
    # Walking out, the edge's first vertex lies on the right hand.
    hinge, latch = (low, high) if opening.hinge is Side.RIGHT else (high, low)
    for place, clear_nm in (
        ("gate to post", max(parts.hinge_gap_nm, parts.latch_gap_nm)),
        ("under the gate", parts.bottom_gap_nm),
    ):
        frame.openings.append(ClearOpening(opening.name, place, clear_nm, on_stair=False))
    gate = Gate(
        name=opening.name,
        level=plan.level.name,
        edge=taped.number,
        hinge_post=hinge.name,
        latch_post=latch.name,
        opening_nm=opening_nm,
        leaf_width_nm=leaf_nm,
        leaf_height_nm=frame.system.guard_height_nm - parts.bottom_gap_nm,
        swing=opening.swing,
        hinge=opening.hinge,
    )
    _judge_swing(frame, plan, edge, gate, stairs)
    return gate


def _along(line: EdgeLine, post: Post) -> int:
    x, y = mm_of(post.at[0] - line.start[0]), mm_of(post.at[1] - line.start[1])
    return snap_mm(x * line.ux + y * line.uy)


def _half_nm(line: EdgeLine, post: Post) -> int:
    """Give a post's centre to its face along an edge; a post at an angle reaches farther. [nm]"""
    tilt = math.radians(abs(math.remainder(line.heading_deg - post.axis_deg, 90.0)))
    return snap_mm(mm_of(post.width_nm) / 2 * (math.cos(tilt) + math.sin(tilt)))


def _refuse_leaf(
    plan: LevelPlan, edge: EdgePlan, name: str, leaf_nm: int, parts: GateParts
) -> None:
    where = plan.level.where(plan.level.edges[edge.index])
    gaps_nm = parts.hinge_gap_nm + parts.latch_gap_nm
    if leaf_nm > parts.max_leaf_nm:
        raise UnbuildableLayout(
            f"gate {name} needs a leaf {mm_of(leaf_nm):.1f} mm wide; the system hangs at most "
            f"{mm_of(parts.max_leaf_nm):.1f} mm",
            element=f"gate {name}",
            where=where,
            advice=f"Make the opening at most {at_most(parts.max_leaf_nm + gaps_nm)} between "
            "its posts, or set two gates.",
        )
    if leaf_nm <= 0:
        raise UnbuildableLayout(
            f"gate {name} has no width: its posts and the {mm_of(gaps_nm):.1f} mm of gaps take up "
            "its opening",
            element=f"gate {name}",
            where=where,
            advice="Make the opening wider, or move it away from the corner.",
        )


def _judge_swing(
    frame: Frame, plan: LevelPlan, edge: EdgePlan, gate: Gate, stairs: Sequence[StairPlan]
) -> None:
    """Refuse a leaf that swings out over a stair; note a drop outside, or no room inside."""
    taped = plan.level.edges[edge.index]
    sweep = _sweep(frame, edge.line, gate)
    if gate.swing is Swing.IN:
        if not all(_inside(plan.level, spot) for spot in sweep[4::3]):
            frame.notes.append(
                f"Gate {gate.name}: the deck leaves its leaf no room for a quarter turn inwards."
            )
        return
    for stair in stairs:
        if stair.level == plan.level.name and convex_overlap(sweep, _flight(frame, stair)):
            raise UnbuildableLayout(
                f"gate {gate.name} swings out over stair {stair.name}",
                element=f"gate {gate.name}",
                where=plan.level.where(taped),
                advice="Let it swing in, hang it on its other side, or move it away from the "
                "stair.",
            )
    if taped.fall_height_nm:
        frame.notes.append(
            f"Gate {gate.name}: it swings out over a drop of {mm_of(taped.fall_height_nm):.1f} mm; "
            "it needs something to step onto."
        )


def _sweep(frame: Frame, line: EdgeLine, gate: Gate) -> list[PlanSpot]:
    """Give the quarter circle the leaf sweeps: the hinge, then its end from closed to open. [mm]"""
    hinge = frame.posts[gate.hinge_post]
    to_latch = 1.0 if gate.hinge is Side.RIGHT else -1.0
    out = 1.0 if gate.swing is Swing.OUT else -1.0
    face = mm_of(_half_nm(line, hinge)) * to_latch
    x, y = mm_of(hinge.at[0]) + face * line.ux, mm_of(hinge.at[1]) + face * line.uy
    spots = [(x, y)]
    for step in range(10):
        turn = math.radians(10.0 * step)
        along = mm_of(gate.leaf_width_nm) * math.cos(turn) * to_latch
        away = mm_of(gate.leaf_width_nm) * math.sin(turn) * out
        spots.append((x + along * line.ux + away * line.uy, y + along * line.uy - away * line.ux))
    return spots


def _flight(frame: Frame, stair: StairPlan) -> list[PlanSpot]:
    """Give the plan of a flight as a rectangle. [mm]"""
    (ax, ay), (bx, by) = ((mm_of(x), mm_of(y)) for x, y in stair.top)
    reach = mm_of(stair.rake.run_nm)
    dx, dy = stair.down[0] * reach, stair.down[1] * reach
    return [(ax, ay), (bx, by), (bx + dx, by + dy), (ax + dx, ay + dy)]


def _inside(level: Level, spot: PlanSpot) -> bool:
    x, y = spot
    inside = False
    for (ax, ay), (bx, by) in zip(
        level.outline, (*level.outline[1:], level.outline[0]), strict=True
    ):
        if (mm_of(ay) > y) != (mm_of(by) > y):
            crossing = mm_of(ax) + (y - mm_of(ay)) * (bx - ax) / (by - ay)
            inside ^= x < crossing
    return inside

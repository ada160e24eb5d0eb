"""Gates of a plan: the leaf closed and, where the system describes gates, open."""

import math
from collections.abc import Iterator

from service.adapters.documents.labels import label
from service.adapters.documents.plan_geometry import EdgeLine, Vector, moved_point, opening_span
from service.adapters.documents.plan_page import PlanPage, on_paper, shortened
from service.adapters.documents.primitives import Circle, Group, Layer, Line, Polyline, Shape
from service.domain.layout.deck import Opening, OpeningKind, Swing
from service.domain.layout.gate_records import Gate
from service.domain.layout.system import Mount

_HINGE = 0.7


def draw_gates(page: PlanPage) -> Iterator[Group]:
    """Draw each gate as a dashed leaf on the post line of its opening."""
    gates = {gate.name: gate for gate in page.layout.gates}
    for line in page.lines:
        for i, opening in enumerate(line.edge.openings, start=1):
            if opening.kind is not OpeningKind.GATE:
                continue
            gate = gates.get(opening.name)
            ends = _hung(page, line, gate) if gate else _across(page, line, opening)
            closed = [page.view.at(end) for end in ends]
            shapes: list[Shape] = [Line(closed[0], closed[1], Layer.GATE)]
            words = f"Gate {opening.name}: opening {page.printed(opening.width_nm)}"
            if gate:
                shapes += _swung(page, line, gate, ends)
                words = (
                    f"Gate {gate.name}: leaf {page.printed(gate.leaf_width_nm)}, swings "
                    f"{gate.swing.value} on {gate.hinge_post} at its {gate.hinge.value}"
                )
            middle = ((closed[0][0] + closed[1][0]) / 2, (closed[0][1] + closed[1][1]) / 2)
            inward = on_paper((-line.outward[0], -line.outward[1]))
            name = shortened(opening.name)
            text = label(page.taken, middle, inward, name, clear=page.fascia_reach())
            identity = f"gate-{page.level_keys[line.level.name]}-{line.edge.number}-{i}"
            yield Group(identity, words, (*shapes, *text))


def _across(page: PlanPage, line: EdgeLine, opening: Opening) -> tuple[Vector, Vector]:
    """Give the ends of an opening on the post line. [nm]"""
    system = page.layout.system
    inset = -system.set_back_nm if system.mount is Mount.SURFACE else system.set_back_nm
    one, other = (
        moved_point(line.start, (line.along, at), (line.outward, inset))
        for at in opening_span(line, opening)
    )
    return one, other


def _hung(page: PlanPage, line: EdgeLine, gate: Gate) -> tuple[Vector, Vector]:
    """Give the hinge and the far end of a closed leaf. [nm]"""
    hinge, latch = page.posts[gate.hinge_post], page.posts[gate.latch_post]
    towards = _towards(line, hinge.at, latch.at)
    start = moved_point(hinge.at, (towards, hinge.width_nm / 2))
    return start, moved_point(start, (towards, gate.leaf_width_nm))


def _towards(line: EdgeLine, hinge: Vector, latch: Vector) -> Vector:
    x, y = latch[0] - hinge[0], latch[1] - hinge[1]
    sign = 1.0 if x * line.along[0] + y * line.along[1] > 0 else -1.0
    return (sign * line.along[0], sign * line.along[1])


def _swung(
    page: PlanPage, line: EdgeLine, gate: Gate, ends: tuple[Vector, Vector]
) -> Iterator[Shape]:
    """Draw the leaf open and the quarter circle its end goes round."""
    sign = 1.0 if gate.swing is Swing.OUT else -1.0
    away = (sign * line.outward[0], sign * line.outward[1])
    towards = _towards(line, *ends)
    reach = gate.leaf_width_nm
    arc = []
    for step in range(10):
        turn = math.radians(10 * step)
        along, out = reach * math.cos(turn), reach * math.sin(turn)
        arc.append(page.view.at(moved_point(ends[0], (towards, along), (away, out))))
    yield Line(page.view.at(ends[0]), arc[-1], Layer.GATE)
    yield Polyline(tuple(arc), Layer.GATE)
    yield Circle(page.view.at(ends[0]), _HINGE, Layer.GATE, solid=True)

"""Arcs built as chords.

Source: the chord and sagitta of a circle, R = (c^2 / 4 + h^2) / (2 h) and h = R (1 - cos(a / 2))
for chord c, sagitta h and angle a at the centre.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.domain.errors import InvalidGeometry, UnbuildableLayout
from service.domain.layout.deck import Edge, EdgeKind, Level, Point
from service.domain.layout.system import Mount, RailingSystem
from service.domain.lengths import INCH, mm_of, snap_mm

SHORTEST_CHORD_NM = 2 * INCH
# More chords than any deck's arc takes; a finer sagitta would only cost.
MOST_CHORDS = 400


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc over the chord between two vertices, in millimetres.

    Attributes:
        outward: Whether it bulges away from the deck.
        sweep: Angle at its centre. [rad]
    """

    start: Point
    end: Point
    chord: float
    sagitta: float
    outward: bool

    @property
    def radius(self) -> float:
        """[mm]"""
        return (self.chord**2 / 4 + self.sagitta**2) / (2 * self.sagitta)

    @property
    def sweep(self) -> float:
        """Angle at its centre. [rad]"""
        return 4 * math.atan2(2 * self.sagitta, self.chord)

    def rise(self, chords: int) -> float:
        """Sagitta of each of so many equal chords. [mm]"""
        return self.radius * (1 - math.cos(self.sweep / (2 * chords)))

    def points(self, chords: int) -> Iterator[Point]:
        """Give the vertices between so many equal chords. [nm]"""
        (ax, ay), (bx, by) = self.start, self.end
        ux, uy = mm_of(bx - ax) / self.chord, mm_of(by - ay) / self.chord
        sign = 1.0 if self.outward else -1.0
        for i in range(1, chords):
            angle = self.sweep * (i / chords - 0.5)
            along = self.radius * math.sin(angle)
            out = sign * (self.radius * (math.cos(angle) - 1) + self.sagitta)
            x, y = mm_of(ax + bx) / 2, mm_of(ay + by) / 2
            yield snap_mm(x + along * ux + out * uy), snap_mm(y + along * uy - out * ux)


def build_arcs(level: Level, system: RailingSystem) -> tuple[Level, tuple[str, ...]]:
    """Give a level whose arcs are chords, each within the system's chord sagitta of its arc.

    Args:
        level: Its outline is anticlockwise.
        system: Gives the chord sagitta, and through posts and set-back the shortest chord.

    Returns:
        The level, every chord of an arc with the number of its edge, and notes.

    Raises:
        InvalidGeometry: An arc is more than half a circle.
        UnbuildableLayout: An arc has openings, or is too tight for chords with posts.
    """
    if not any(edge.sagitta_nm for edge in level.edges):
        return level, ()
    outline: list[Point] = []
    edges: list[Edge] = []
    notes: list[str] = []
    for index, edge in enumerate(level.edges):
        outline.append(level.outline[index])
        if not edge.sagitta_nm:
            edges.append(edge)
            continue
        arc = _arc(level, index)
        chords = _chords(level, edge, arc, system)
        outline += arc.points(chords)
        edges += [replace(edge, sagitta_nm=0)] * chords
        notes.append(
            f"Level {level.name}: edge {edge.number} is an arc of radius {arc.radius:.1f} mm, "
            f"built as {chords} chord{'s' * (chords > 1)}, each within {arc.rise(chords):.1f} mm "
            "of it."
        )
    return replace(level, outline=tuple(outline), edges=tuple(edges)), tuple(notes)


def _arc(level: Level, index: int) -> Arc:
    edge = level.edges[index]
    start, end = level.outline[index], level.outline[(index + 1) % len(level.outline)]
    chord = math.hypot(mm_of(end[0] - start[0]), mm_of(end[1] - start[1]))
    sagitta = mm_of(abs(edge.sagitta_nm))
    element = f"level {level.name}, edge {edge.number}"
    if 2 * sagitta > chord + 1e-6:
        raise InvalidGeometry(
            f"edge {edge.number} of level {level.name} is more than half a circle: its sagitta is "
            f"{sagitta:.1f} mm over a chord of {chord:.1f} mm",
            element=element,
            where=level.where(edge),
            advice="Split it into two arcs.",
        )
    if edge.openings:
        raise UnbuildableLayout(
            f"{edge.openings[0].kind.value.replace('_', ' ')} {edge.openings[0].name} stands in "
            f"edge {edge.number} of level {level.name}, which is an arc",
            element=element,
            where=level.where(edge),
            advice="Split the edge and make the part with the opening straight.",
        )
    return Arc(start, end, chord, sagitta, edge.sagitta_nm > 0)


def _chords(level: Level, edge: Edge, arc: Arc, system: RailingSystem) -> int:
    """Count the fewest chords within the sagitta; refuse where posts have no room on them."""
    allowed = mm_of(system.chord_sagitta_nm)
    turn = 2 * math.acos(max(-1.0, 1 - allowed / arc.radius))  # of the longest chord allowed
    chords = max(1, math.ceil(arc.sweep / turn - 1e-9))
    least = mm_of(SHORTEST_CHORD_NM)
    inward = 0.0
    if edge.kind is EdgeKind.OPEN and edge.guarded:
        post = system.post_width_nm
        least = max(least, mm_of(post + max(post, system.pickets.width_nm)))
        inward = mm_of(system.set_back_nm) * (1 if system.mount is Mount.SURFACE else -1)
        inward *= 1 if arc.outward else -1
    if chords <= MOST_CHORDS and _between_posts(arc, chords, inward) >= least:
        return chords
    fits = [n for n in range(1, min(chords, MOST_CHORDS + 1))
            if _between_posts(arc, n, inward) >= least]  # fmt: skip
    if fits:
        sagitta = math.ceil(arc.rise(max(fits)) * 10) / 10
        advice = f"Allow a chord sagitta of at least {sagitta:.1f} mm (system.chord_sagitta)."
    else:
        advice = "Give the arc a larger radius, or make the edge straight."
    raise UnbuildableLayout(
        f"edge {edge.number} of level {level.name} is an arc of radius {arc.radius:.1f} mm: "
        f"chords within {allowed:.1f} mm of it are too short for posts, which need {least:.1f} mm "
        "centre to centre",
        element=f"level {level.name}, edge {edge.number}",
        where=level.where(edge),
        advice=advice,
    )


def _between_posts(arc: Arc, chords: int, inward: float) -> float:
    """Give the distance of two posts on a chord, the post line lying inward of it. [mm]"""
    half = arc.sweep / (2 * chords)
    return 2 * arc.radius * math.sin(half) - 2 * inward * math.tan(half)

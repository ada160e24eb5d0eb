"""A small plan for a screen: deck, house, guard, posts and stairs, with the house at the top.

The sheet of ``drawing_svg`` is for paper and unreadable on a telephone; this picture is lettered
in the size of the text around it where it is shown 360 CSS pixels wide.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.adapters.documents.drawing_svg import escaped
from service.adapters.documents.plan_geometry import (
    EdgeLine,
    edge_lines,
    moved_point,
    opening_span,
    stair_depth_nm,
)
from service.domain.layout.deck import EdgeKind, OpeningKind, Point
from service.domain.layout.records import Layout, StairPlan
from service.domain.layout.system import Mount
from service.quantities import length_text
from service.usecases.orders import Units

_WIDTH, _MARGIN, _TALLEST = 360.0, 46.0, 340.0
_LETTERS = 12.5
_PEN = {
    "deck": 'fill="#f3efe6" stroke="#8b8273" stroke-width="1"',
    "wall": 'stroke="#6d5a48" stroke-width="7"',
    "guard": 'stroke="#0a5c63" stroke-width="2.5"',
    "post": 'fill="#12343b"',
    "gate": 'stroke="#0a5c63" stroke-width="2.5" stroke-dasharray="5 4"',
    "stair": 'stroke="#8b8273" stroke-width="1"',
}
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _View:
    """Turns the plan and brings it onto the picture.

    Attributes:
        turn: Angle the plan is turned by. [rad]
        scale: Of the picture, per nanometre.
        left, top: Least x and greatest y of the turned plan. [nm]
        inset: Space left of it.
        height: Of the picture.
    """

    turn: float
    scale: float
    left: float
    top: float
    inset: float
    height: float

    def at(self, point: Point | Place) -> Place:
        """Give a point of the plan on the picture."""
        x, y = _turned(point, self.turn)
        return self.inset + (x - self.left) * self.scale, _MARGIN + (self.top - y) * self.scale

    def toward(self, vector: Place) -> Place:
        """Give a direction of the plan on the picture."""
        x, y = _turned(vector, self.turn)
        return x, -y


def sketch(layout: Layout, units: Units) -> bytes:
    """Draw the small plan, the same bytes for the same layout."""
    lines = [line for level in layout.deck.levels for line in edge_lines(level)]
    view = _view(layout, lines)
    size = f'width="{_WIDTH:g}" height="{view.height:g}" viewBox="0 0 {_WIDTH:g} {view.height:g}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" fill="none" '
        f'font-family="sans-serif" font-size="{_LETTERS:g}">',
        "<title>Plan of the railing</title>",
        f'<rect width="{_WIDTH:g}" height="{view.height:g}" fill="#fff"/>',
        *(_shape("deck", [view.at(corner) for corner in level.outline], closed=True)
          for level in layout.deck.levels),
        *(part for stair in layout.stairs for part in _stair(layout, stair, view)),
        *_edges(lines, view, units),
        *_gates(layout, lines, view),
        *_guard(layout, view),
        "</svg>\n",
    ]  # fmt: skip
    return "\n".join(parts).encode()


def _turned(point: Point | Place, turn: float) -> Place:
    x, y = point
    cos, sin = math.cos(turn), math.sin(turn)
    return x * cos - y * sin, x * sin + y * cos


def _view(layout: Layout, lines: Sequence[EdgeLine]) -> _View:
    """Turn the longest wall to the top, and fit everything in."""
    walls = [line for line in lines if line.edge.kind is EdgeKind.WALL]
    out = max(walls, key=lambda line: line.length_nm).outward if walls else (0.0, 1.0)
    turn = math.pi / 2 - math.atan2(out[1], out[0])
    reached = [_turned(point, turn) for point in _reached(layout)]
    xs, ys = [x for x, _ in reached], [y for _, y in reached]
    wide, tall = max(xs) - min(xs) or 1.0, max(ys) - min(ys) or 1.0
    scale = min((_WIDTH - 2 * _MARGIN) / wide, _TALLEST / tall)
    inset = (_WIDTH - wide * scale) / 2
    return _View(turn, scale, min(xs), max(ys), inset, round(tall * scale + 2 * _MARGIN, 2))


def _reached(layout: Layout) -> Iterator[Point | Place]:
    for level in layout.deck.levels:
        yield from level.outline
    for stair in layout.stairs:
        yield from _foot(layout, stair)


def _foot(layout: Layout, stair: StairPlan) -> list[Place]:
    depth = stair_depth_nm(layout, stair)
    return [moved_point(end, (stair.down, depth)) for end in stair.top]


def _shape(pen: str, points: Iterable[Place], *, closed: bool = False) -> str:
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return f'<path class="{pen}" {_PEN[pen]} d="M{path}{"Z" if closed else ""}"/>'


def _edges(lines: Sequence[EdgeLine], view: _View, units: Units) -> Iterator[str]:
    """Mark walls, and letter each side with its length where there is room."""
    for line in lines:
        ends = [view.at(line.start), view.at(line.end)]
        if line.edge.kind is EdgeKind.WALL:
            yield _shape("wall", ends)
        if math.dist(*ends) >= 2 * _LETTERS:
            words = length_text(line.length_nm, units)
            house = line.edge.kind is EdgeKind.WALL
            out = view.toward(line.outward)
            if line.edge.openings:  # a stair lies outside
                out = (-out[0], -out[1])
            yield _label(ends, out, f"{words} house" if house else words)


def _label(ends: Sequence[Place], out: Place, words: str) -> str:
    """Letter along a side that runs up the picture, else level; outside of it."""
    (x1, y1), (x2, y2) = ends
    off = 17.0 if abs(out[0]) > 0.9 else 15.0 + 0.45 * _LETTERS * abs(out[1])
    x, y = (x1 + x2) / 2 + out[0] * off, (y1 + y2) / 2 + out[1] * off + 0.36 * _LETTERS
    spin = ""
    if abs(out[0]) > 0.3:
        degrees = math.degrees(math.atan2(y2 - y1, x2 - x1))
        degrees -= 180 * round(degrees / 180)
        x -= out[0] * 4
        y -= 0.36 * _LETTERS
        spin = f' transform="rotate({degrees:.1f} {x:.1f} {y:.1f}) translate(0 {0.36 * _LETTERS})"'
    halo = 'fill="#12343b" stroke="#fff" stroke-width="4" paint-order="stroke"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" {halo}{spin}>{escaped(words)}</text>'
    )


def _guard(layout: Layout, view: _View) -> Iterator[str]:
    places = {post.name: view.at(post.at) for post in layout.posts}
    for run in layout.runs:
        yield _shape("guard", [places[run.start], places[run.end]])
    for x, y in places.values():
        corner = f'x="{x - 3:.1f}" y="{y - 3:.1f}" width="6" height="6"'
        yield f'<rect class="post" {_PEN["post"]} {corner}/>'


def _gates(layout: Layout, lines: Iterable[EdgeLine], view: _View) -> Iterator[str]:
    """Draw each gate closed, dashed on the line of the posts."""
    system = layout.system
    inset = -system.set_back_nm if system.mount is Mount.SURFACE else system.set_back_nm
    for line in lines:
        for opening in line.edge.openings:
            if opening.kind is OpeningKind.GATE:
                yield _shape(
                    "gate",
                    [
                        view.at(moved_point(line.start, (line.along, at), (line.outward, inset)))
                        for at in opening_span(line, opening)
                    ],
                )


def _stair(layout: Layout, stair: StairPlan, view: _View) -> Iterator[str]:
    """Draw the nosings and sides of a stair."""
    record = next((one for one in layout.deck.stairs if one.name == stair.name), None)
    treads = max(1, record.risers - 1 if record else 1)
    depth = stair_depth_nm(layout, stair)
    for index in range(1, treads + 1):
        going = depth * index / treads
        yield _shape("stair", [view.at(moved_point(e, (stair.down, going))) for e in stair.top])
    for end, foot in zip(stair.top, _foot(layout, stair), strict=True):
        yield _shape("stair", [view.at(end), view.at(foot)])

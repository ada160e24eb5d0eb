"""From a level as it was taped to a checked outline: simple, anticlockwise, in chords."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.domain.errors import InvalidGeometry, Where
from service.domain.layout.deck import Deck, Level, Opening, Point
from service.domain.layout.survey_arcs import build_arcs
from service.domain.layout.survey_corners import drop_closing_corner, merge_straight_corners
from service.domain.layout.survey_crossing import find_crossing
from service.domain.layout.survey_records import SurveyReport
from service.domain.layout.survey_tapes import unchecked_note
from service.domain.layout.system import RailingSystem
from service.domain.lengths import INCH, mm_of, snap_mm

SHORTEST_EDGE_NM = 2 * INCH
SHARPEST_CORNER_DEG = 15.0


@dataclass(frozen=True, slots=True)
class CheckedDeck:
    """A deck ready to be laid out.

    Attributes:
        deck: Every outline simple, anticlockwise, of straight edges, not closed twice.
        notes: What was done to it.
        surveys: How well the tape readings agreed, for each level that was taped.
    """

    deck: Deck
    notes: tuple[str, ...]
    surveys: tuple[SurveyReport, ...]


def check_deck(deck: Deck, system: RailingSystem) -> CheckedDeck:
    """Make every outline simple, anticlockwise and of straight edges.

    Raises:
        InvalidGeometry: An outline is no simple polygon, or is too small or too sharp to be a deck.
        UnbuildableLayout: An arc cannot be built as chords.
    """
    checked = [_check_level(level, system) for level in deck.levels]
    return CheckedDeck(
        replace(deck, levels=tuple(level for level, _ in checked)),
        tuple(note for _, notes in checked for note in notes),
        tuple(level.survey for level in deck.levels if level.survey is not None),
    )


def _check_level(level: Level, system: RailingSystem) -> tuple[Level, tuple[str, ...]]:
    where: Where = ("deck", "levels", level.index, "outline")
    unchecked = unchecked_note(level.survey, len(level.outline)) if level.survey else ""
    level, closing = drop_closing_corner(level)
    if len(level.outline) < 3:
        raise InvalidGeometry(
            f"level {level.name} has {len(level.outline)} corners; a deck has at least three",
            element=f"level {level.name}",
            where=where,
            advice="Send every corner once, in order round the deck.",
        )
    _refuse_small_or_sharp(level, where)
    if _twice_area(level.outline) < 0:
        level = _reversed(level)
    level, straight = merge_straight_corners(level)
    corners = len(level.outline)
    level, arcs = build_arcs(level, system)
    if len(level.outline) > corners:
        _refuse_small_or_sharp(level, where)
    _refuse_crossing(level, where)
    return level, (*((unchecked,) if unchecked else ()), *closing, *straight, *arcs)


def _twice_area(outline: Sequence[Point]) -> int:
    following = (*outline[1:], outline[0])
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(outline, following, strict=True))


def _reversed(level: Level) -> Level:
    """Walk a clockwise outline the other way; edge numbers stay the caller's."""
    outline = tuple(reversed(level.outline))
    lengths = list(_edge_lengths(level.outline))
    edges = [
        replace(edge, openings=_mirrored(edge.openings, length))
        for edge, length in zip(level.edges, lengths, strict=True)
    ]
    edges.reverse()
    return replace(level, outline=outline, edges=(*edges[1:], edges[0]))


def _mirrored(openings: tuple[Opening, ...], edge_nm: int) -> tuple[Opening, ...]:
    turned = [
        o if o.offset_nm is None else replace(o, offset_nm=edge_nm - o.offset_nm - o.width_nm)
        for o in openings
    ]
    return tuple(reversed(turned))


def _edge_lengths(outline: Sequence[Point]) -> Iterator[int]:
    for (ax, ay), (bx, by) in zip(outline, (*outline[1:], outline[0]), strict=True):
        yield snap_mm(math.hypot(mm_of(bx - ax), mm_of(by - ay)))


def _refuse_small_or_sharp(level: Level, where: Where) -> None:
    outline, count = level.outline, len(level.outline)
    headings = []
    for index, length_nm in enumerate(_edge_lengths(outline)):
        if length_nm < SHORTEST_EDGE_NM:
            raise InvalidGeometry(
                f"edge {level.edges[index].number} of level {level.name} is only "
                f"{mm_of(length_nm):.1f} mm long",
                element=f"level {level.name}, edge {level.edges[index].number}",
                where=(*where[:3], "edges", level.edges[index].number - 1),
                advice="Leave out corners that repeat; do not close the outline twice.",
            )
        (ax, ay), (bx, by) = outline[index], outline[(index + 1) % count]
        headings.append(math.atan2(by - ay, bx - ax))
    for index, heading in enumerate(headings):
        turn = math.degrees(math.remainder(heading - headings[index - 1], math.tau))
        if abs(turn) > 180.0 - SHARPEST_CORNER_DEG:
            raise InvalidGeometry(
                f"the corner at the start of edge {level.edges[index].number} of level "
                f"{level.name} is sharper than {SHARPEST_CORNER_DEG:g} degrees",
                element=f"level {level.name}, edge {level.edges[index].number}",
                where=(*where[:3], "edges", level.edges[index].number - 1),
                advice="Check the order of the corners; a post cannot stand in so sharp a corner.",
            )


def _refuse_crossing(level: Level, where: Where) -> None:
    crossing = find_crossing(level.outline)
    if crossing is None:
        return
    first, second = sorted(level.edges[index].number for index in crossing)
    raise InvalidGeometry(
        f"edges {first} and {second} of level {level.name} cross or touch",
        element=f"level {level.name}, edge {first}",
        where=where,
        advice="Send the corners in order round the deck; split a deck that touches itself into "
        "two levels.",
    )

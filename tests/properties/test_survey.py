"""Taped decks: noise is adjusted away, a blunder is named; closed shapes keep their ground.

shapely is the geometric oracle.
"""

import math
import random
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from service.domain.errors import InvalidGeometry, UnbuildableLayout
from service.domain.layout.deck import Deck
from service.domain.layout.survey import check_deck
from service.domain.layout.survey_crossing import find_crossing
from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_tapes import survey_of_tapes
from service.domain.lengths import INCH, MILLIMETRE, inches
from tests.unit.domain.layout.builders import SYSTEM, level

NAMES = "ABCDEFG"
NOISE_NM = INCH // 16


@st.composite
def polygons(draw: st.DrawFn, least: int = 4, most: int = 7) -> list[tuple[float, float]]:
    """Convex-looking decks: corners round an ellipse, anticlockwise, in inches."""
    count = draw(st.integers(least, most))
    wide, deep = draw(st.integers(80, 200)), draw(st.integers(80, 200))
    points = []
    for i in range(count):
        angle = (i + draw(st.floats(-0.2, 0.2))) * math.tau / count
        points.append((wide * math.cos(angle), deep * math.sin(angle)))
    return points


def tape_all(points: list[tuple[float, float]], lottery: random.Random) -> list[Tape]:
    """Tape every distance, each up to 1/16 in off."""
    return [
        Tape(
            NAMES[i],
            NAMES[j],
            round(math.dist(points[i], points[j]) * INCH) + lottery.randint(-NOISE_NM, NOISE_NM),
        )
        for i, j in combinations(range(len(points)), 2)
    ]


@given(polygons(), st.integers(0, 2**32))
def test_noise_is_adjusted_away(points: list[tuple[float, float]], seed: int) -> None:
    """Adjusted distances lie as near to the truth as the tapes, and as reported."""
    tapes = tape_all(points, random.Random(seed))
    corners, report = survey_of_tapes("main", NAMES[: len(points)], tapes)
    for i, j in combinations(range(len(points)), 2):
        found, true = math.dist(corners[i], corners[j]), math.dist(points[i], points[j]) * INCH
        assert abs(found - true) <= 2 * NOISE_NM
    assert report.misclosure_nm is not None
    assert report.misclosure_nm <= 4 * NOISE_NM
    assert report.precision is None or report.precision > 1000
    for tape, residual in zip(tapes, report.residuals, strict=True):
        a, b = NAMES.index(tape.start), NAMES.index(tape.end)
        adjusted = math.dist(corners[a], corners[b])
        assert tape.length_nm - adjusted == pytest.approx(residual.residual_nm, abs=5)


@given(polygons(least=5), st.integers(0, 2**32), st.sampled_from([-6, 6]), st.data())
def test_a_blunder_of_six_inches_is_named(
    points: list[tuple[float, float]], seed: int, blunder: int, data: st.DataObject
) -> None:
    tapes = tape_all(points, random.Random(seed))
    wrong = data.draw(st.integers(0, len(tapes) - 1))
    tapes[wrong] = replace(tapes[wrong], length_nm=tapes[wrong].length_nm + inches(blunder))
    with pytest.raises(InvalidGeometry) as refused:
        survey_of_tapes("main", NAMES[: len(points)], tapes)
    assert tapes[wrong].name in refused.value.advice
    assert refused.value.where in ((), ("tapes", wrong))


@given(polygons(), st.integers(0, 2**32))
def test_feet_or_millimetres_survey_the_same(points: list[tuple[float, float]], seed: int) -> None:
    """The order of the tapes and which end is named first make no difference either."""
    lottery = random.Random(seed)
    tapes = tape_all(points, lottery)
    other = [Tape(t.end, t.start, t.length_nm) for t in tapes]
    lottery.shuffle(other)
    names = NAMES[: len(points)]
    mine, theirs = (
        survey_of_tapes("main", names, tapes)[0],
        survey_of_tapes("main", names, other)[0],
    )
    assert all(math.dist(a, b) <= 5 for a, b in zip(mine, theirs, strict=True))


grid = st.integers(-12, 12)


@given(st.lists(st.tuples(grid, grid), min_size=3, max_size=9, unique=True))
def test_crossings_agree_with_shapely(points: list[tuple[int, int]]) -> None:
    """Only rings that do not fold back are swept; the corner check refuses the others first."""
    ring = [*points, points[0], points[1]]
    for a, b, c in zip(ring, ring[1:], ring[2:], strict=False):
        cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
        dot = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
        assume(cross != 0 or dot > 0)
    edges = [LineString([a, b]) for a, b in zip(points, ring[1:], strict=False)]
    last = len(edges) - 1
    meets = any(
        edges[i].intersects(edges[j])
        for i, j in combinations(range(len(edges)), 2)
        if j - i not in (1, last)
    )
    found = find_crossing(points)
    assert (found is not None) == meets
    if found is not None:
        assert edges[found[0]].intersects(edges[found[1]])


@given(polygons(), st.data())
def test_merging_keeps_the_deck_s_ground(
    points: list[tuple[float, float]], data: st.DataObject
) -> None:
    """Edges split by corners up to 4 mm off: the outline moves by 3 mm at most."""
    outline: list[tuple[int, int]] = []
    for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True):
        outline.append((round(ax * INCH), round(ay * INCH)))
        length = math.dist((ax, ay), (bx, by))
        for part in sorted(data.draw(st.sets(st.sampled_from([0.2, 0.4, 0.6, 0.8])))):
            off = data.draw(st.integers(-4, 4)) / 25.4
            x = ax + (bx - ax) * part + off * (by - ay) / length
            y = ay + (by - ay) * part - off * (bx - ax) / length
            outline.append((round(x * INCH), round(y * INCH)))
    place = replace(level([(0, 0)] * len(outline), "o" * len(outline)), outline=tuple(outline))
    merged = check_deck(Deck((place,)), SYSTEM).deck.levels[0]
    before, after = Polygon(outline), Polygon(merged.outline)
    reach = 3 * MILLIMETRE + 2
    assert all(after.exterior.distance(Point(corner)) <= reach for corner in outline)
    assert before.exterior.hausdorff_distance(after.exterior) <= reach
    assert set(merged.outline) <= set(outline)


@given(polygons(), st.integers(-60, 60), st.integers(0, 6))
def test_chords_follow_their_arc(
    points: list[tuple[float, float]], sagitta: int, number: int
) -> None:
    """Chords close the outline, have their ends on the circle and one length."""
    outline = tuple((round(x * INCH), round(y * INCH)) for x, y in points)
    place = replace(level([(0, 0)] * len(outline), "o" * len(outline)), outline=outline)
    number %= len(outline)
    edges = list(place.edges)
    edges[number] = replace(edges[number], sagitta_nm=inches(sagitta))
    try:
        built = check_deck(Deck((replace(place, edges=tuple(edges)),)), SYSTEM).deck.levels[0]
    except (InvalidGeometry, UnbuildableLayout):
        assume(False)
    ends = zip(built.outline, (*built.outline[1:], built.outline[0]), built.edges, strict=True)
    chords = [math.dist(a, b) for a, b, edge in ends if edge.number == number + 1]
    assert set(outline) <= set(built.outline)
    assert max(chords) - min(chords) <= 4
    start, end = outline[number], outline[(number + 1) % len(outline)]
    straight, rise = math.dist(start, end), inches(abs(sagitta))
    if rise:
        radius = (straight**2 / 4 + rise**2) / (2 * rise)
        sweep = 2 * math.asin(min(1.0, straight / 2 / radius))
        assert sum(chords) == pytest.approx(
            len(chords) * 2 * radius * math.sin(sweep / 2 / len(chords)), rel=1e-9
        )
        assert radius - math.sqrt(radius**2 - (chords[0] / 2) ** 2) <= SYSTEM.chord_sagitta_nm + 2

"""From tape readings to an outline: what is handled, what is refused, and in which words."""

import math
import time
from dataclasses import replace

import pytest

from service.domain.errors import InvalidGeometry, UnbuildableLayout, UnknownReference
from service.domain.layout.deck import Deck, EdgeKind, Level, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.survey import check_deck
from service.domain.layout.survey_crossing import find_crossing
from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_records import SurveyMethod
from service.domain.layout.survey_tapes import survey_of_tapes
from service.domain.layout.system import Mount
from service.domain.lengths import INCH, inches, millimetres
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, with_opening

FRAME = {"AB": 192, "BC": 144, "CD": 192, "DA": 144}
L_SHAPE = [(0, 0), (192, 0), (192, 96), (96, 96), (96, 192), (0, 192)]


def taped(lengths: dict[str, float]) -> list[Tape]:
    return [Tape(name[0], name[1], round(inch * INCH)) for name, inch in lengths.items()]


def tapes_between(points: list[tuple[int, int]], *pairs: str) -> list[Tape]:
    """Tape exactly between corners A, B, ... at points in inches."""
    at = dict(zip("ABCDEFGH", points, strict=False))
    return [Tape(p[0], p[1], round(math.dist(at[p[0]], at[p[1]]) * INCH)) for p in pairs]


def checked(*levels: Level, **changes: object) -> tuple[Level, tuple[str, ...]]:
    done = check_deck(Deck(levels), replace(SYSTEM, **changes))
    return done.deck.levels[0], done.notes


def with_arc(place: Level, number: int, sagitta_nm: int) -> Level:
    edges = tuple(
        replace(edge, sagitta_nm=sagitta_nm) if edge.number == number else edge
        for edge in place.edges
    )
    return replace(place, edges=edges)


def test_an_inside_corner_taped_across_the_deck() -> None:
    """Every tape lies inside, so that the inside corner D needs no further word."""
    tapes = tapes_between(L_SHAPE, "AB", "BC", "CD", "DE", "EF", "FA", "AC", "AD", "AE")
    corners, report = survey_of_tapes("main", "ABCDEF", tapes)
    for corner, (x, y) in zip(corners, L_SHAPE, strict=True):
        assert corner == pytest.approx((inches(x), inches(y)), abs=5)
    assert report.misclosure_nm is None


def test_a_third_tape_turns_a_corner_inside() -> None:
    """C-E runs over the air and would put D outside the line; A-D tells where it is."""
    tapes = tapes_between(L_SHAPE, "AB", "BC", "AC", "EF", "FA", "AE", "CE", "CD", "DE", "AD")
    corners, _ = survey_of_tapes("main", "ABCDEF", tapes)
    assert corners[3] == pytest.approx((inches(96), inches(96)), abs=5)


def test_the_order_of_corners_chooses_between_mirror_images() -> None:
    tapes = tapes_between([(0, 0), (192, 0), (150, 100), (0, 144)], "AB", "BC", "CD", "DA", "AC")
    corners, _ = survey_of_tapes("main", "ABCD", tapes)
    assert corners[2] == pytest.approx((inches(150), inches(100)), abs=5)


def test_the_same_distance_taped_twice_counts_twice() -> None:
    tapes = [*taped({**FRAME, "AC": 240}), Tape("A", "C", inches(240, 1, 8))]
    _, report = survey_of_tapes("main", "ABCD", tapes)
    assert [r.residual_nm for r in report.residuals[-2:]] == pytest.approx(
        [-inches(0, 1, 16), inches(0, 1, 16)], abs=2
    )
    assert report.residuals[0].off_nm is None


REFUSALS = [
    pytest.param(FRAME, r"do not fix corners C, D", "Tape A-C as well", id="sides alone"),
    pytest.param(
        {**FRAME, "AC": 400}, r"no triangle .* 1625\.6 mm", "Check A-C, B-C, A-B", id="no triangle"
    ),
    pytest.param(
        {"AB": 96, "BC": 96, "AC": 192, "CD": 144, "DA": 240},
        "corner B of level main is hardly held",
        "Tape B-D",
        id="in one line",
    ),
    pytest.param(
        {**FRAME, "AC": 246, "BD": 240},
        "contradict each other by at least 15.* which of A-B, B-C, C-D, D-A, A-C, B-D",
        "tape each of them twice",
        id="one spare tape cannot tell",
    ),
]


@pytest.mark.parametrize(("lengths", "problem", "advice"), REFUSALS)
def test_tapes_that_make_no_outline(lengths: dict[str, float], problem: str, advice: str) -> None:
    with pytest.raises(InvalidGeometry, match=problem) as refused:
        survey_of_tapes("main", "ABCD", taped(lengths), ("deck",))
    assert advice in refused.value.advice
    assert refused.value.where[0] == "deck"


def test_the_wrong_tape_is_named() -> None:
    """Seven corners, two diagonals more than needed for each: B-E reads 6 in short."""
    points = [(0, 0), (100, -30), (180, 40), (190, 120), (120, 190), (20, 170), (-40, 90)]
    names = [a + b for i, a in enumerate("ABCDEFG") for b in "ABCDEFG"[i + 1 :]]
    tapes = tapes_between(points, *names)
    wrong = names.index("BE")
    tapes[wrong] = replace(tapes[wrong], length_nm=tapes[wrong].length_nm - inches(6))
    with pytest.raises(InvalidGeometry, match=r"tape B-E .* 152\.\d mm less") as refused:
        survey_of_tapes("main", "ABCDEFG", tapes, ("outline",))
    assert refused.value.where == ("outline", "tapes", wrong)
    assert refused.value.advice.startswith("Check B-E")


def test_a_tape_to_nowhere() -> None:
    with pytest.raises(UnknownReference, match="names corner Z") as refused:
        survey_of_tapes("main", "ABC", [Tape("A", "Z", INCH)])
    assert refused.value.where == ("tapes", 0)


@pytest.mark.parametrize(
    ("corners", "tapes"),
    [
        pytest.param("AAB", {"AB": 5}, id="one name twice"),
        pytest.param("AB", {"AB": 5}, id="two corners"),
        pytest.param("ABC", {"AA": 5}, id="a tape to itself"),
        pytest.param("ABC", {"AB": 0}, id="a tape of no length"),
    ],
)
def test_tapes_that_are_none(corners: str, tapes: dict[str, float]) -> None:
    with pytest.raises(InvalidGeometry, match=r"corners"):
        survey_of_tapes("main", corners, taped(tapes))


def test_the_report_reaches_the_layout() -> None:
    lengths = {**FRAME, "AC": 240, "BD": 240.125}
    corners, report = survey_of_tapes("main", "ABCD", taped(lengths))
    surveyed = replace(level(RECTANGLE, "ooow"), outline=corners, survey=report)
    assert lay_out(Deck((surveyed,)), SYSTEM).surveys == (report,)
    assert report.method is SurveyMethod.TAPES
    assert len(report.residuals) == 6


def test_tapes_without_a_check_are_noted() -> None:
    corners, report = survey_of_tapes("main", "ABCD", taped({**FRAME, "AC": 240}))
    surveyed = replace(level(RECTANGLE, "ooow"), outline=corners, survey=report)
    notes = lay_out(Deck((surveyed,)), SYSTEM).notes
    assert any("none checks another" in note for note in notes)


@pytest.mark.parametrize("edges", ["ooow", "ooowo"])
def test_an_outline_closed_twice_is_closed_once(edges: str) -> None:
    twice = level([*RECTANGLE, RECTANGLE[0]], edges)
    once, notes = checked(twice)
    assert once == level(RECTANGLE, "ooow")
    assert notes == ("Level main: its last corner is the first one again and was left out.",)


def test_an_opening_in_the_edge_that_closes_twice() -> None:
    twice = with_opening(level([*RECTANGLE, RECTANGLE[0]], "ooowo"), 5, OpeningKind.GATE, "g", 9, 0)
    with pytest.raises(InvalidGeometry, match="edge 5 of level main has no length"):
        checked(twice)


def test_edges_that_do_not_go_round() -> None:
    with pytest.raises(InvalidGeometry, match="3 edges for 4 corners"):
        checked(level(RECTANGLE, "oow"))


def bent(offset_mm: int, kinds: str = "oooow") -> Level:
    """A front of two edges that bends outwards in the middle by so much."""
    place = level([(0, 0), (96, 0), (192, 0), (192, 144), (0, 144)], kinds)
    outline = list(place.outline)
    outline[1] = (inches(96), -millimetres(offset_mm))
    return replace(place, outline=tuple(outline))


def test_a_corner_within_three_millimetres_is_no_corner() -> None:
    place, notes = checked(bent(3))
    assert [edge.number for edge in place.edges] == [1, 3, 4, 5]
    assert place.outline == level(RECTANGLE, "ooow").outline
    assert "edges 1 and 2 lie in a straight line" in notes[0]
    assert "edge 1." in notes[0]


@pytest.mark.parametrize(
    "place",
    [
        pytest.param(bent(4), id="bends more"),
        pytest.param(bent(0, "owoow"), id="a wall meets it"),
        pytest.param(
            with_opening(bent(0), 1, OpeningKind.OBSTACLE, "tree", 10, 86), id="opening at it"
        ),
        pytest.param(
            replace(
                bent(0), edges=(replace(bent(0).edges[0], fall_height_nm=1), *bent(0).edges[1:])
            ),
            id="another fall height",
        ),
        pytest.param(
            replace(bent(0), edges=(replace(bent(0).edges[0], guarded=False), *bent(0).edges[1:])),
            id="no guard before it",
        ),
    ],
)
def test_a_corner_that_stays(place: Level) -> None:
    kept, notes = checked(place)
    assert kept == place
    assert notes == ()


def test_openings_keep_their_places_when_a_corner_goes() -> None:
    place = with_opening(bent(2), 2, OpeningKind.GATE, "g", 36, None)
    merged, _ = checked(place)
    (gate,) = merged.edges[0].openings
    assert gate.offset_nm == pytest.approx(inches(96 + 30), abs=millimetres(1) // 10)


def test_a_gentle_curve_is_not_straightened() -> None:
    """Every corner is within 3 mm of its neighbours' line, but 15 in a row are not."""
    xs = [i * 12 for i in range(16)]
    points = [(inches(x), -millimetres(2) * i * (15 - i) // 2) for i, x in enumerate(xs)]
    points += [(inches(180), inches(100)), (0, inches(100))]
    base = level([(0, 0)] * len(points), "o" * (len(points) - 1) + "w")
    curved = replace(base, outline=tuple(points))
    kept, notes = checked(curved)
    assert 4 < len(kept.outline) < len(points)
    assert notes
    for x, y in points:
        assert min(_off(kept, i, (x, y)) for i in range(len(kept.outline))) <= millimetres(3) + 1


def _off(place: Level, index: int, point: tuple[int, int]) -> float:
    """Distance of a point from an edge."""
    (ax, ay), (bx, by) = place.outline[index], place.outline[(index + 1) % len(place.outline)]
    along = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / math.dist(
        (ax, ay), (bx, by)
    ) ** 2
    along = min(1.0, max(0.0, along))
    return math.dist(point, (ax + along * (bx - ax), ay + along * (by - ay)))


@pytest.mark.parametrize("sagitta", [30, -30])
def test_chords_of_an_arc_stay_within_the_sagitta(sagitta: int) -> None:
    """R = (72^2 + 30^2) / 60 = 101.4 in; every vertex lies on the circle, chords 1/2 in off."""
    place = with_arc(level(RECTANGLE, "oooo"), 2, inches(sagitta))
    built, notes = checked(place)
    chords = [i for i, edge in enumerate(built.edges) if edge.number == 2]
    centre = (
        inches(192) - (inches(101, 2, 5) - inches(30)) * (1 if sagitta > 0 else -1),
        inches(72),
    )
    for i in chords:
        a, b = built.outline[i], built.outline[(i + 1) % len(built.outline)]
        assert math.dist(a, centre) == pytest.approx(inches(101, 2, 5), abs=3)
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert 0 < inches(101, 2, 5) - math.dist(middle, centre) <= inches(0, 1, 2)
    assert f"an arc of radius 2575.6 mm, built as {len(chords)} chords" in notes[0]
    # One chord less would pass half an inch.
    half = math.asin(72 / 101.4) / (len(chords) - 1)
    assert 101.4 * (1 - math.cos(half)) > 0.5


def test_an_arc_flatter_than_the_sagitta_is_one_chord() -> None:
    built, notes = checked(with_arc(level(RECTANGLE, "oooo"), 2, inches(0, 1, 4)))
    assert len(built.outline) == 4
    assert "built as 1 chord," in notes[0]


def test_a_deck_with_a_round_front_is_laid_out() -> None:
    job = lay_out(Deck((with_arc(level(RECTANGLE, "ooow"), 2, inches(24)),)), SYSTEM)
    runs = [run for run in job.runs if run.edge == 2]
    assert len(runs) > 3
    assert all(run.length_nm >= 2 * SYSTEM.post_width_nm for run in runs)


@pytest.mark.parametrize(
    ("place", "changes", "problem", "advice"),
    [
        pytest.param(
            with_arc(level(RECTANGLE, "oooo"), 2, inches(73)),
            {},
            "more than half a circle",
            "two arcs",
            id="more than half a circle",
        ),
        pytest.param(
            with_opening(
                with_arc(level(RECTANGLE, "oooo"), 2, inches(20)), 2, OpeningKind.GATE, "g", 36, 9
            ),
            {},
            "gate g stands in edge 2",
            "straight",
            id="a gate in an arc",
        ),
        pytest.param(
            with_arc(level(RECTANGLE, "oooo"), 2, inches(60)),
            {"chord_sagitta_nm": inches(0, 1, 64)},
            "too short for posts",
            "chord sagitta of at least",
            id="finer than posts allow",
        ),
    ],
)
def test_an_arc_that_cannot_be_built(
    place: Level, changes: dict[str, object], problem: str, advice: str
) -> None:
    with pytest.raises((InvalidGeometry, UnbuildableLayout), match=problem) as refused:
        checked(place, **changes)
    assert advice in refused.value.advice
    assert refused.value.where == ("deck", "levels", 0, "edges", 1)


def test_the_advised_chord_sagitta_is_one_that_works() -> None:
    place = with_arc(level(RECTANGLE, "oooo"), 2, inches(60))
    with pytest.raises(UnbuildableLayout) as refused:
        checked(place, chord_sagitta_nm=inches(0, 1, 64))
    advised = float(refused.value.advice.split("at least ")[1].split(" mm")[0])
    checked(place, chord_sagitta_nm=round(advised * 1e6))


def test_a_fascia_arc_has_its_posts_farther_out() -> None:
    """On a tight inside arc the outboard post line is shorter, on an outside one longer."""
    hung = {"mount": Mount.FASCIA, "fascia_drop_nm": inches(9), "set_back_nm": inches(12)}
    inwards = with_arc(level(RECTANGLE, "oooo"), 2, -inches(40))
    with pytest.raises(UnbuildableLayout, match="too short for posts"):
        checked(inwards, chord_sagitta_nm=inches(0, 1, 32), **hung)
    outwards = with_arc(level(RECTANGLE, "oooo"), 2, inches(40))
    assert checked(outwards, chord_sagitta_nm=inches(0, 1, 32), **hung)


def test_a_wall_may_be_an_arc() -> None:
    built, _ = checked(with_arc(level(RECTANGLE, "owoo"), 2, inches(12)))
    assert {edge.kind for edge in built.edges if edge.number == 2} == {EdgeKind.WALL}


@pytest.mark.parametrize(
    ("outline", "crossing"),
    [
        pytest.param([(0, 0), (10, 10), (10, 0), (0, 10)], (0, 2), id="bow tie"),
        pytest.param([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], (0, 2), id="a corner touches"),
        pytest.param([(0, 0), (9, 0), (9, 9), (5, 5), (1, 9)], None, id="an inside corner"),
        pytest.param(
            [(0, 0), (10, 0), (10, 5), (5, 0), (5, 9), (0, 9)], (0, 2), id="touches from above"
        ),
        pytest.param(
            [(0, 0), (4, 0), (4, 4), (8, 4), (8, 0), (9, 0), (9, 9), (0, 9)], None, id="a notch"
        ),
        pytest.param(
            [(0, 0), (6, 0), (6, 6), (3, 6), (3, 0), (0, 3)], (0, 3), id="edges overlap at a foot"
        ),
    ],
)
def test_crossings(outline: list[tuple[int, int]], crossing: tuple[int, int] | None) -> None:
    found = find_crossing(outline)
    assert (found is None) == (crossing is None)
    if found is not None:
        assert 0 in found


def test_four_thousand_edges_are_swept_in_well_under_a_second() -> None:
    """A comb, every tooth under the sweep line at once, is the worst for comparing pairs."""
    teeth = 1000
    comb = []
    for i in range(teeth):
        comb += [(i * 40, 0), (i * 40 + 10, 90_000), (i * 40 + 20, 90_000), (i * 40 + 30, 0)]
    comb = [(x, y) for y, x in comb]  # teeth along the sweep
    comb += [(-50, teeth * 40), (-50, -10)]
    start = time.perf_counter()
    assert find_crossing(comb) is None
    assert time.perf_counter() - start < 1.0

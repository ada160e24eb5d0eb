"""Advice: the change named meets its clause, and one step of the grid less would not.

Every row changes the deck by its own hand, not by the remedy under test.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from service.adapters.code_library import open_library
from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Outcome
from service.domain.compliance.site import NOTHING_SAID, Site, Use
from service.domain.layout.choice_records import Preference
from service.domain.layout.deck import Deck, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import RailingSystem
from service.domain.lengths import inches, millimetres
from service.usecases.advice import Advice
from service.usecases.advise import advise
from service.usecases.least_count import LeastCount
from service.usecases.orders import Units
from service.usecases.remedy import Job
from service.usecases.trials import OutOfTrials
from tests.unit.domain.layout.builders import (
    BETWEEN,
    FREE,
    RECTANGLE,
    SYSTEM,
    level,
    one_run_deck,
    stair,
    stair_deck,
    with_opening,
)

CLAUSES = open_library().clauses("IRC", "2021")
SIXTEENTH = inches(0, 1, 16)
Change = Callable[[int], tuple[Deck, RailingSystem]]


def _stair_deck(**changes: object) -> Deck:
    return replace(stair_deck(), stairs=(stair(**changes),))


def _system(name: str, system: RailingSystem = SYSTEM, deck: Deck | None = None) -> Change:
    return lambda value: (deck or stair_deck(), replace(system, **{name: value}))


def _of_stair(name: str, **others: object) -> Change:
    return lambda value: (_stair_deck(**others, **{name: value}), SYSTEM)


def _failing(deck: Deck, system: RailingSystem) -> set[str]:
    found = assess(CLAUSES, lay_out(deck, system))
    return {finding.clause.key for finding in found if finding.outcome is Outcome.NOT_MET}


def _advice(deck: Deck, system: RailingSystem, units: Units = Units.IMPERIAL) -> dict[str, Advice]:
    layout = lay_out(deck, system)
    found = assess(CLAUSES, layout)
    job = Job(deck, system, NOTHING_SAID, Preference())
    return {one.clause.key: one for one in advise(job, layout, CLAUSES, found, units)}


@dataclass(frozen=True)
class Row:
    """A job that fails one clause by one value, and the value that is just enough."""

    key: str
    change: Change
    now: int
    enough: int
    step: int = SIXTEENTH


ROWS = [
    Row("guard.height.level", _system("guard_height_nm"), inches(34), inches(36)),
    Row("guard.height.stair", _system("stair_guard_height_nm"), inches(32, 1, 10), inches(34)),
    Row("guard.height.as_handrail", _system("stair_guard_height_nm"), inches(40), inches(38),
        -SIXTEENTH),
    Row("guard.opening.level", _system("bottom_gap_nm"), inches(4, 1, 4), inches(3, 15, 16),
        -SIXTEENTH),
    # 3-4-5: the sphere is 5 in times 1 + nosing / run + gap / rise; 6 in at a gap of 3/4 in.
    Row("guard.opening.stair_triangle", _system("stair_bottom_gap_nm"), inches(2),
        inches(0, 11, 16), -SIXTEENTH),
    Row("stair.tread", _of_stair("unit_run_nm", total_rise_nm=inches(48)), inches(9, 1, 2),
        inches(10)),
    Row("stair.nosing.projection", _of_stair("nosing_nm"), inches(0, 1, 2), inches(0, 3, 4)),
    # 57 in over 7 risers is 8.14 in each, over 8 it is 7.125 in.
    Row("stair.riser", _of_stair("risers", total_rise_nm=inches(57)), 7, 8, 1),
]  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_smallest_change_that_meets_the_clause(row: Row) -> None:
    advice = _advice(*row.change(row.now))[row.key]
    assert (advice.before, advice.after) == (row.now, row.enough)
    assert row.key in _failing(*row.change(row.now))
    assert row.key not in _failing(*row.change(row.enough))
    assert row.key in _failing(*row.change(row.enough - row.step))


def test_gap_of_free_pickets_is_closed_to_the_last_step_that_meets() -> None:
    pickets = replace(FREE.pickets, max_gap_nm=inches(5))
    deck = one_run_deck()

    def changed(value: int) -> RailingSystem:
        return replace(FREE, pickets=replace(pickets, max_gap_nm=value))

    advice = _advice(deck, changed(inches(5)))["guard.opening.level"]
    assert advice.member == "system.pickets.max_gap"
    assert "guard.opening.level" not in _failing(deck, changed(advice.after))
    assert "guard.opening.level" in _failing(deck, changed(advice.after + SIXTEENTH))


def test_metric_jobs_are_advised_in_whole_millimetres() -> None:
    system = replace(SYSTEM, guard_height_nm=millimetres(900))
    advice = _advice(one_run_deck(), system, Units.METRIC)["guard.height.level"]
    assert advice.after == millimetres(915)  # 36 in is 914.4 mm


def test_one_height_for_level_and_stair_where_the_code_knows_but_one() -> None:
    clauses = open_library().clauses("IBC", "2021")
    high = replace(SYSTEM, posts=(replace(SYSTEM.posts[0], height_nm=inches(80)),))
    site = Site(use=Use.PUBLIC)
    layout = lay_out(stair_deck(), high)
    found = assess(clauses, layout, site=site)
    job = Job(stair_deck(), high, site, Preference())
    given = {a.clause.key: a for a in advise(job, layout, clauses, found, Units.IMPERIAL)}
    advice = given["guard.height"]
    assert advice.member == "system.guard_height and system.stair_guard_height"
    assert (advice.before, advice.after) == (inches(36), inches(42))


def test_what_a_change_breaks_and_meets_besides_is_said() -> None:
    # A guard of 33 in on the stair fails as guard and as handrail; 34 in meets all three.
    advice = _advice(stair_deck(), replace(SYSTEM, stair_guard_height_nm=inches(33)))
    met = {clause.key for clause in advice["guard.height.stair"].also_met}
    assert met == {"guard.height.as_handrail", "handrail.height"}
    # Eight risers of 7-7/8 in: nine of 7 in lie flatter, and the triangle under the rail closes.
    steep = _advice(_stair_deck(risers=8, total_rise_nm=inches(63)), SYSTEM)
    assert steep["stair.riser"].after == 9
    assert steep["stair.riser"].no_longer_met == ()


def test_a_change_that_cannot_be_built_is_not_advised() -> None:
    # The longest post is 52 in: no guard of 36 in above a fascia drop of 20 in can be cut from it.
    posts = (replace(SYSTEM.posts[0], height_nm=inches(35)), SYSTEM.posts[1])
    short = replace(SYSTEM, guard_height_nm=inches(30), posts=(posts[0],))
    advice = _advice(one_run_deck(), short)["guard.height.level"]
    assert (advice.change, advice.elements) == ("", ("S1", "S2", "S3"))


def _long_stair(**changes: object) -> Deck:
    high = replace(level(RECTANGLE, "ooow"))
    front = with_opening(high, 1, OpeningKind.STAIR, "stair", 48, 72)
    return Deck((front,), (stair(**{"risers": 14, "total_rise_nm": inches(105), **changes}),))


def test_post_on_the_flight_that_breaks_the_handrail() -> None:
    advice = _advice(_long_stair(), BETWEEN)["handrail.continuous"]
    assert advice.change == "Span on stairs"
    wide = replace(BETWEEN, max_stair_span_nm=advice.after)
    assert "handrail.continuous" not in _failing(_long_stair(), wide)
    less = replace(BETWEEN, max_stair_span_nm=advice.after - SIXTEENTH)
    assert "handrail.continuous" in _failing(_long_stair(), less)


def test_handrail_of_the_system_is_the_first_cure() -> None:
    parts = HandrailParts(
        height_nm=inches(36),
        width_nm=inches(1, 1, 2),
        clearance_nm=inches(2),
        bracket_spacing_nm=inches(48),
        bracket_end_nm=inches(12),
        longest_nm=inches(240),
    )
    deck = _long_stair(handrails=frozenset())
    advice = _advice(deck, replace(BETWEEN, handrail=parts))["handrail.continuous"]
    assert advice.change == "Handrails on brackets on both sides"


def test_flight_too_high_is_divided_by_a_landing() -> None:
    deck = _long_stair(risers=21, total_rise_nm=inches(154), unit_run_nm=inches(11))
    assert "stair.flight_rise" in _failing(deck, SYSTEM)
    advice = _advice(deck, SYSTEM)["stair.flight_rise"]
    assert advice.change == "Landing half way up"


def test_edge_without_its_guard() -> None:
    deck = one_run_deck()
    bare = replace(deck.levels[0], edges=(replace(deck.levels[0].edges[0], guarded=False),
                                          *deck.levels[0].edges[1:]))  # fmt: skip
    advice = _advice(Deck((bare,)), SYSTEM)["guard.needed.drop"]
    assert advice.change == "Guard along level main, edge 1"


def test_nothing_is_tried_where_all_is_met() -> None:
    layout = lay_out(one_run_deck(), SYSTEM)
    job = Job(one_run_deck(), SYSTEM, NOTHING_SAID, Preference())
    assert advise(job, layout, CLAUSES, assess(CLAUSES, layout), Units.IMPERIAL) == ()


@pytest.mark.parametrize("guess", [1, 7, 40])
@pytest.mark.parametrize("least", [1, 6, 7, 8, 40])
def test_least_count_wherever_it_is_guessed(guess: int, least: int) -> None:
    def found(most: int) -> int | None:
        search = LeastCount(lambda count: count >= least)
        search.run(guess, most)
        assert not search.cut_short
        return search.least

    assert found(40) == least
    assert found(least - 1 or 1) == (1 if least == 1 else None)


@pytest.mark.parametrize(
    ("tries", "least"), [(0, None), (1, None), (2, 16), (3, 15), (4, 11), (5, 11), (6, 11)]
)
def test_a_search_cut_short_keeps_what_it_found_and_says_so(tries: int, least: int | None) -> None:
    left = iter(range(tries))

    def does(count: int) -> bool:
        if next(left, None) is None:
            raise OutOfTrials
        return count >= 11

    search = LeastCount(does)
    search.run(8, 100)
    assert (search.least, search.cut_short) == (least, tries < 6)

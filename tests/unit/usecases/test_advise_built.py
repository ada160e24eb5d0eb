"""Advice on what was taped as built, on grips and gates: just enough, and one step less is not.

Every row sets the fact by its own hand, not by the remedy under test.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

import pytest

from service.adapters.code_library import open_library
from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Outcome
from service.domain.compliance.site import (
    GateFacts,
    Grip,
    GripShape,
    Recess,
    ReleaseSide,
    RiserKind,
    Site,
    StairFacts,
    Use,
)
from service.domain.layout.choice_records import Preference
from service.domain.layout.deck import Deck, Edge, EdgeKind, Opening, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.system import GateParts, RailingSystem
from service.domain.lengths import inches, millimetres
from service.usecases.advice import Advice
from service.usecases.advise import advise
from service.usecases.orders import Units
from service.usecases.remedy import Job
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck, stair, stair_deck
from tests.unit.domain.layout.infills import CABLES, filled

LIBRARY = open_library()
SIXTEENTH = inches(0, 1, 16)
RISERS = stair().risers
Told = Callable[[int], Site]


def _job(site: Site, deck: Deck, system: RailingSystem = SYSTEM) -> Job:
    return Job(deck, system, replace(site, use=site.use or Use.ONE_FAMILY), Preference())


def _failing(job: Job, code: tuple[str, str]) -> set[str]:
    found = assess(LIBRARY.clauses(*code), lay_out(job.deck, job.system), site=job.site)
    return {finding.clause.key for finding in found if finding.outcome is Outcome.NOT_MET}


def _advice(job: Job, code: tuple[str, str], units: Units = Units.IMPERIAL) -> dict[str, Advice]:
    layout, clauses = lay_out(job.deck, job.system), LIBRARY.clauses(*code)
    found = assess(clauses, layout, site=job.site)
    return {one.clause.key: one for one in advise(job, layout, clauses, found, units)}


def _facts(**facts: object) -> Site:
    return Site(stairs={0: StairFacts(**facts)})  # type: ignore[arg-type]


def _grip(**known: object) -> Site:
    return Site(grip=Grip(**{"shape": GripShape.OTHER, **known}))  # type: ignore[arg-type]


def _round(value: int) -> Site:
    return _grip(shape=GripShape.ROUND, diameter_nm=value)


def _recess(**known: int) -> Site:
    dimensions = {"start_nm": inches(0, 1, 2), "depth_nm": inches(0, 1, 2), "width_nm": inches(2)}
    recess = Recess(**{**dimensions, **known})
    return _grip(perimeter_nm=inches(7), edge_radius_nm=inches(0, 1, 8), recess=recess)


IRC, IBC, ADA, NBC = ("IRC", "2021"), ("IBC", "2021"), ("ADA", "2010"), ("NBC", "2015")


@dataclass(frozen=True)
class Row:
    """A fact that fails one clause by one value, and the value that is just enough."""

    code: tuple[str, str]
    key: str
    told: Told
    now: int
    enough: int
    step: int = SIXTEENTH


def _one_high(value: int) -> Site:
    return _facts(risers_nm=(inches(7) + value, *(inches(7),) * (RISERS - 1)))


def _one_deep(value: int) -> Site:
    return _facts(treads_nm=(inches(10) + value, *(inches(10),) * (RISERS - 2)))


ROWS = [
    Row(IRC, "stair.headroom", lambda v: _facts(headroom_nm=v), inches(78), inches(80)),
    Row(IRC, "stair.riser.uniform", _one_high, inches(0, 1, 2), inches(0, 3, 8), -SIXTEENTH),
    Row(IRC, "stair.tread.uniform", _one_deep, inches(1), inches(0, 3, 8), -SIXTEENTH),
    Row(IRC, "handrail.grip.round", _round, inches(2, 1, 4), inches(2), -SIXTEENTH),
    Row(IRC, "handrail.grip.round", _round, inches(1), inches(1, 1, 4)),
    Row(IRC, "handrail.grip.recess_start", lambda v: _recess(start_nm=v), inches(1),
        inches(0, 3, 4), -SIXTEENTH),
    Row(IRC, "handrail.grip.recess_depth", lambda v: _recess(depth_nm=v), inches(0, 1, 8),
        inches(0, 5, 16)),
    Row(ADA, "handrail.grip.perimeter", lambda v: _grip(perimeter_nm=v), inches(7),
        inches(6, 1, 4), -SIXTEENTH),
    Row(ADA, "handrail.grip.cross_section",
        lambda v: _grip(perimeter_nm=inches(6), cross_nm=v), inches(2, 1, 2), inches(2, 1, 4),
        -SIXTEENTH),
]  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{' '.join(row.code)} {row.key} {row.now}")
def test_smallest_change_of_a_fact(row: Row) -> None:
    advice = _advice(_job(row.told(row.now), stair_deck()), row.code)[row.key]
    assert (advice.before, advice.after) == (row.now, row.enough)
    assert row.key not in _failing(_job(row.told(row.enough), stair_deck()), row.code)
    assert row.key in _failing(_job(row.told(row.enough - row.step), stair_deck()), row.code)


def test_landings_are_lengthened_each_by_itself() -> None:
    site = _facts(top_landing_nm=inches(30), bottom_landing_nm=inches(33))
    layout, clauses = lay_out(stair_deck(), SYSTEM), LIBRARY.clauses(*IRC)
    found = assess(clauses, layout, site=site)
    job = Job(stair_deck(), SYSTEM, site, Preference())
    given = {a.change: a.after for a in advise(job, layout, clauses, found, Units.IMPERIAL)}
    assert given["Landing at the top"] == given["Landing at the bottom"] == inches(36)


def test_slope_and_lean_are_brought_to_the_limit() -> None:
    job = _job(_facts(tread_slope=Fraction(1, 30), riser_lean_deg=33.0), stair_deck())
    advice = _advice(job, IRC)
    assert advice["stair.slope"].change == "Treads sloped no more than 1:48"
    assert advice["stair.slope"].member == "deck.stairs[0].tread_slope"
    assert advice["stair.riser.slope"].change == "Risers that lean no more than 30 deg"


def test_open_riser_is_closed_by_a_thicker_tread_or_a_board() -> None:
    thin = _facts(riser_kind=RiserKind.OPEN, tread_thickness_nm=inches(1))
    thicker = _advice(_job(thin, stair_deck()), IRC)["stair.riser.open"]
    assert thicker.change == "Thickness of the treads"
    gap = inches(7, 1, 2) - thicker.after
    assert inches(4) > gap >= inches(4) - SIXTEENTH


def _gate_deck() -> Deck:
    front = Edge(
        EdgeKind.OPEN, 1, inches(60), True, (Opening(OpeningKind.GATE, "gate", inches(36)),)
    )
    deck = one_run_deck()
    return replace(
        deck, levels=(replace(deck.levels[0], edges=(front, *deck.levels[0].edges[1:])),)
    )


GATES = GateParts(inches(0, 3, 4), inches(0, 3, 4), inches(2), inches(60))


@pytest.mark.parametrize(
    ("side", "now", "enough", "key"),
    [
        (ReleaseSide.OUTSIDE, inches(40), inches(54), "pool.gate.latch"),
        (ReleaseSide.POOL, inches(46), inches(43), "pool.latch.below_top"),
    ],
)
def test_release_of_a_latch_is_moved(side: ReleaseSide, now: int, enough: int, key: str) -> None:
    """A guard of 48 in over a gap of 2 in: a leaf of 46 in, and 3 in below its top is 43 in."""
    system = replace(SYSTEM, gates=GATES, guard_height_nm=inches(48))
    site = Site(pool=True, gates={"gate": GateFacts(release_nm=now, release_side=side)})
    advice = _advice(_job(site, _gate_deck(), system), ("ISPSC", "2018"))[key]
    assert (advice.change, advice.before, advice.after) == ("Release of gate", now, enough)


def test_gate_that_does_not_shut_is_made_to() -> None:
    site = Site(pool=True, gates={"gate": GateFacts(closes=False, latches=True)})
    job = _job(site, _gate_deck(), replace(SYSTEM, gates=GATES))
    advice = _advice(job, ("ISPSC", "2018"))["pool.gate.closing"]
    assert advice.change == "gate opened away from the pool, closing and latching by itself"


def test_system_without_a_handrail_is_given_an_ordinary_one() -> None:
    """A top rail that stops in its post does not go on by 12 in; nothing of the system would."""
    advice = _advice(_job(Site(use=Use.PUBLIC), stair_deck()), ADA)["handrail.extension.top"]
    assert advice.change.startswith("Handrails on brackets on both sides, such as round ones")
    assert advice.member == "system.handrail and system.grip"
    assert "handrail.extension.bottom" in {clause.key for clause in advice.also_met}
    assert advice.no_longer_met == ()


def test_cables_a_child_could_climb_give_way_to_pickets() -> None:
    deck = one_run_deck()
    edges = tuple(replace(edge, fall_height_nm=millimetres(4_300)) for edge in deck.levels[0].edges)
    high = replace(deck, levels=(replace(deck.levels[0], edges=edges),))
    job = _job(Site(), high, filled(CABLES))
    advice = _advice(job, NBC, Units.METRIC)["guard.climb"]
    assert advice.change == "Upright pickets 3/4 in wide in place of the cables"
    assert "guard.climb" in _failing(job, NBC)


def test_only_the_edge_at_fault_gets_a_guard() -> None:
    """Two bare edges: one over 52 in, one over 20 in, which needs none."""
    front, side, *others = one_run_deck().levels[0].edges
    bare = (replace(front, guarded=False), replace(side, guarded=False, fall_height_nm=inches(20)))
    deck = Deck((replace(one_run_deck().levels[0], edges=(*bare, *others)),))
    job = _job(Site(), deck)
    advice = [one for one in _all(job, IRC) if one.clause.key == "guard.needed.drop"]
    assert [one.change for one in advice] == ["Guard along level main, edge 1"]


def _all(job: Job, code: tuple[str, str]) -> tuple[Advice, ...]:
    layout, clauses = lay_out(job.deck, job.system), LIBRARY.clauses(*code)
    found = assess(clauses, layout, site=job.site)
    return advise(job, layout, clauses, found, Units.IMPERIAL)

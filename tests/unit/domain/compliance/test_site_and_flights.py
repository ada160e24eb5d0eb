"""What is said beside the layout, and decks of several flights as the engine lays them out."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Finding, Outcome
from service.domain.compliance.inspection import Inspection
from service.domain.compliance.site import RiserKind, Site, StairFacts, Use
from service.domain.layout.deck import Deck, Landing, OpeningKind, Side, Stair, Turn
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import ClearOpening
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import InfillRails, RailProfile, no_pickets
from service.domain.lengths import inches, millimetres
from tests.unit.domain.compliance.builders import LIBRARY, findings, inch, layout, outcome_of
from tests.unit.domain.layout.builders import (
    BETWEEN,
    RECTANGLE,
    SYSTEM,
    level,
    one_run_deck,
    stair,
    with_opening,
)

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
NOT_APPLICABLE, NOT_ASSESSED = Outcome.NOT_APPLICABLE, Outcome.NOT_ASSESSED


def _deck(**changes: object) -> Deck:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    return Deck((front,), (stair(**changes),))


TWO_FLIGHTS = {
    "total_rise_nm": inches(105),
    "risers": 14,
    "flights": (7, 7),
    "landings": (Landing(Turn.STRAIGHT, inches(40)),),
}
HANDRAIL = HandrailParts(
    height_nm=inches(36),
    width_nm=inch("1-1/2"),
    clearance_nm=inches(2),
    bracket_spacing_nm=inches(48),
    bracket_end_nm=inches(12),
    longest_nm=inches(240),
)


@pytest.mark.parametrize(
    ("use", "outcomes"),
    [
        pytest.param(Use.R_3, {"guard.height": NOT_APPLICABLE, "guard.height.dwelling": MET},
                     id="a dwelling"),
        pytest.param(Use.PUBLIC, {"guard.height": NOT_MET, "guard.height.dwelling": NOT_APPLICABLE},
                     id="a public building"),
        pytest.param(None, {"guard.height": NOT_MET, "guard.height.dwelling": MET},
                     id="not said: both bind"),
    ],
)  # fmt: skip
def test_use_decides_which_height_binds(use: Use | None, outcomes: Mapping[str, Outcome]) -> None:
    built = layout(stairs=False, guard_height_nm=inches(36))
    for key, outcome in outcomes.items():
        found = findings(key, built, code="IBC", site=Site(use=use))
        assert {finding.outcome for finding in found} == {outcome}, key
        unsaid = "Whether the deck belongs to a dwelling is not said"
        assert all((unsaid in finding.note) is (use is None) for finding in found)


@pytest.mark.parametrize("edition", ["2018", "2021", "2024"])
@pytest.mark.parametrize(
    ("use", "binds"),
    [
        (Use.ONE_FAMILY, False),
        (Use.TWO_FAMILY, False),
        (Use.R_2, True),
        (Use.R_3, True),
        (Use.PUBLIC, True),
        (None, True),
    ],
)
def test_line_load_is_waived_for_one_and_two_families_only(
    edition: str, use: Use | None, binds: bool
) -> None:
    """As the exception of 1607.8.1 and 1607.9.1 is read in codes of the file's own sources."""
    clauses = LIBRARY.clauses("IBC", edition)
    found = assess(clauses, layout(stairs=False), site=Site(use=use))
    (line,) = [finding for finding in found if finding.clause.key == "load.guard.line"]
    assert (line.outcome is not NOT_APPLICABLE) is binds


@pytest.mark.parametrize(
    ("use", "risers", "needed"),
    [
        (Use.PUBLIC, 1, True),
        (Use.R_3, 1, False),
        (Use.R_3, 2, True),
        (None, 1, True),  # not said: taken as public
    ],
)
def test_single_riser_has_handrails_outside_dwellings(
    use: Use | None, risers: int, needed: bool
) -> None:
    deck = _deck(risers=risers, total_rise_nm=inches(7) * risers)
    found = assess(LIBRARY.clauses("IBC", "2021"), lay_out(deck, SYSTEM), site=Site(use=use))
    heights = {f.outcome for f in found if f.clause.key == "handrail.height"}
    assert (heights != {NOT_APPLICABLE}) is needed


def test_clause_for_another_use_is_told_once_for_the_deck() -> None:
    (found,) = findings("guard.height", layout(), code="IBC", site=Site(use=Use.R_3))
    assert (found.element, found.outcome) == ("deck", NOT_APPLICABLE)
    assert found.note == "Binds only where dwelling is no; here it is yes."


@pytest.mark.parametrize(
    ("width", "depth", "outcome"),
    [
        pytest.param(inches(40), inches(40), MET, id="as deep as the stair is wide"),
        pytest.param(inches(40), inches(40) - 1, NOT_MET, id="1 nm less deep than wide"),
        pytest.param(inches(60), inches(48), MET, id="48 in is enough for a wider stair"),
    ],
)
def test_landing_need_not_be_deeper_than_the_stair_is_wide(
    width: int, depth: int, outcome: Outcome
) -> None:
    site = Site(stairs={0: StairFacts(top_landing_nm=depth, bottom_landing_nm=depth)})
    found = findings("stair.landing.depth", layout(width=width), code="IBC", site=site)
    assert {finding.outcome for finding in found} == {outcome}
    assert {finding.held_to[0].base for finding in found} == {min(width, inches(48))}


def test_depth_of_the_landing_between_flights_comes_from_the_layout() -> None:
    laid = lay_out(_deck(**TWO_FLIGHTS), SYSTEM)
    found = [
        (finding.element, finding.outcome, finding.measured)
        for finding in assess(LIBRARY.clauses("IRC", "2021"), laid)
        if finding.clause.key == "stair.landing.depth"
    ]
    assert found == [
        ("stair flight 1", NOT_ASSESSED, None),
        ("stair flight 1", MET, inches(40)),
        ("stair flight 2", MET, inches(40)),
        ("stair flight 2", NOT_ASSESSED, None),
    ]


def test_tapes_of_a_stair_are_shared_out_to_its_flights() -> None:
    risers = tuple(inches(7) + index for index in range(14))
    treads = tuple(inches(10) + index for index in range(12))
    site = Site(stairs={0: StairFacts(risers_nm=risers, treads_nm=treads, nosings_nm=risers)})
    flights = Inspection(lay_out(_deck(**TWO_FLIGHTS), SYSTEM), site).flights
    upper, lower = flights["stair flight 1"].facts, flights["stair flight 2"].facts
    assert upper.risers_nm + lower.risers_nm == risers
    assert upper.treads_nm + lower.treads_nm == treads
    assert (len(upper.risers_nm), len(upper.treads_nm), len(lower.nosings_nm)) == (7, 6, 7)


def test_worst_of_the_taped_risers_is_shown() -> None:
    risers = (inch("7-1/2"), inches(8), inches(7))
    site = Site(stairs={0: StairFacts(risers_nm=risers)})
    (found,) = findings("stair.riser", layout(), site=site)
    assert (found.outcome, found.measured) == (NOT_MET, inches(8))
    (least,) = findings("stair.riser.min", layout(), code="IBC", site=site)
    assert (least.outcome, least.measured) == (MET, inches(7))


@pytest.mark.parametrize(
    ("facts", "outcome"),
    [
        pytest.param(StairFacts(), NOT_ASSESSED, id="nothing said"),
        pytest.param(StairFacts(riser_kind=RiserKind.SOLID), NOT_APPLICABLE, id="solid risers"),
        pytest.param(StairFacts(riser_kind=RiserKind.OPEN), NOT_ASSESSED, id="no thickness"),
        pytest.param(
            StairFacts(riser_kind=RiserKind.OPEN, tread_thickness_nm=inch("3-1/2") + 1),
            MET,
            id="just under 4 in",
        ),
        pytest.param(
            StairFacts(riser_kind=RiserKind.OPEN, tread_thickness_nm=inch("3-1/2")),
            NOT_MET,
            id="exactly 4 in of a 7-1/2 in riser",
        ),
        pytest.param(
            StairFacts(
                risers_nm=(*[inches(7)] * 6, inches(8)),
                riser_kind=RiserKind.OPEN,
                tread_thickness_nm=inch("3-3/4"),
            ),
            NOT_MET,
            id="4-1/4 in under the highest of the taped risers",
        ),
    ],
)
def test_open_risers(facts: StairFacts, outcome: Outcome) -> None:
    assert outcome_of("stair.riser.open", layout(), site=Site(stairs={0: facts})) is outcome


def _held(deck: Deck, system: object, key: str) -> list[Finding]:
    laid = lay_out(deck, system)  # type: ignore[arg-type]
    return [f for f in assess(LIBRARY.clauses("IRC", "2021"), laid) if f.clause.key == key]


def test_line_post_on_a_flight_breaks_the_top_rail_as_handrail() -> None:
    long = _deck(risers=14, total_rise_nm=inches(105))
    found = _held(long, BETWEEN, "handrail.continuous")
    assert {finding.outcome for finding in found} == {NOT_MET}
    assert "a newel may do so only at a turn" in found[0].note
    assert "would cure it" in found[0].note


def test_handrails_on_brackets_take_the_place_of_the_top_rail() -> None:
    system = replace(BETWEEN, handrail=HANDRAIL)
    long = _deck(risers=14, total_rise_nm=inches(105), handrails=frozenset(Side))
    assert {f.outcome for f in _held(long, system, "handrail.continuous")} == {MET}
    assert {f.element for f in _held(long, system, "handrail.height")} == {"H1", "H2"}
    assert {f.outcome for f in _held(long, system, "guard.height.as_handrail")} == {NOT_APPLICABLE}
    between = _held(long, system, "stair.width.two_rails")[0].measured
    bare = _held(_deck(risers=14, total_rise_nm=inches(105)), BETWEEN, "stair.width.two_rails")
    # Each handrail stands 2 in clear and is 1-1/2 in wide.
    assert (bare[0].measured or 0) - (between or 0) == 2 * inch("3-1/2")


def test_rails_as_infill_are_climbable_over_a_high_fall() -> None:
    high = replace(
        one_run_deck().levels[0],
        edges=tuple(
            replace(edge, fall_height_nm=millimetres(4_201))
            for edge in one_run_deck().levels[0].edges
        ),
    )
    rails = InfillRails(depth_nm=inches(1), max_gap_nm=inch("3-1/2"))
    system = replace(SYSTEM, infill=rails, pickets=no_pickets(inch("3-1/2")))
    clauses = LIBRARY.clauses("NBC", "2020")
    for deck, railing, outcome in (
        (Deck((high,)), system, NOT_MET),
        (Deck((high,)), SYSTEM, MET),  # pickets; the bottom rail's top lies 4 in up
        (one_run_deck(), system, NOT_APPLICABLE),
    ):
        found = [
            f for f in assess(clauses, lay_out(deck, railing)) if f.clause.key == "guard.climb"
        ]
        assert {f.outcome for f in found} == {outcome}
        assert len(found) == len({f.element for f in found})


def test_flight_of_one_stair_is_its_own() -> None:
    flights = Inspection(layout()).flights
    assert list(flights) == ["garden stair"]
    assert isinstance(flights["garden stair"].stair, Stair)
    assert flights["garden stair"].unit_rise_nm == inch("7-1/2")


def test_cables_have_a_limit_of_their_own_in_wisconsin() -> None:
    """3-3/4 in passes between pickets and under the rail, not between cables."""
    wide = inch("3-3/4")
    gap = ClearOpening("S1", "between cables", wide, False)
    built = layout(stairs=False, level_gaps=(wide,) * 3, openings=(gap,))
    law = {"code": "SPS", "edition": "321"}
    (found,) = findings("guard.opening.cables", built, **law)
    assert (found.element, found.outcome, found.margin) == ("S1", NOT_MET, inches(0, -1, 4))
    assert outcome_of("guard.opening.deck", built, **law) is MET
    pickets = layout(stairs=False, level_gaps=(wide,) * 3)
    assert outcome_of("guard.opening.cables", pickets, **law) is NOT_APPLICABLE


def test_rail_whose_perimeter_may_be_either_side_is_judged_by_neither_rule() -> None:
    """2.3 in by 1 in: 5.02 in if a diamond, 6.6 in if a bar, across surely more than 2-1/4 in."""
    rail = RailProfile(inches(1), inches(2, 3, 10))
    found = findings("handrail.grip.cross_section", layout(top_rail=rail))
    assert {finding.outcome for finding in found} == {NOT_ASSESSED}

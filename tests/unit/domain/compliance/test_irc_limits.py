"""A row below, at and above each limit of the IRC 2021 that the layout can decide."""

from typing import Any

import pytest

from service.domain.compliance.findings import Outcome
from service.domain.layout.deck import Side
from service.domain.layout.records import ClearOpening
from service.domain.layout.system import Method, RailProfile
from service.domain.lengths import inches, millimetres
from tests.unit.domain.compliance.builders import inch, layout, outcome_of

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
NOT_APPLICABLE, NOT_ASSESSED = Outcome.NOT_APPLICABLE, Outcome.NOT_ASSESSED

GAP = inches(3)


def _rail(depth: str, width: str) -> RailProfile:
    return RailProfile(inch(depth), inch(width))


def _row(key: str, outcome: Outcome, why: str, **built: Any) -> Any:
    return pytest.param(key, built, outcome, id=f"{key}: {why}")


NO_STAIR = {"stairs": False}

GUARD_ROWS = [
    _row("guard.needed.drop", NOT_APPLICABLE, "30 in less 1 nm needs no guard",
         fall=inches(30) - 1, guarded=False, **NO_STAIR),
    _row("guard.needed.drop", NOT_APPLICABLE, "exactly 30 in needs no guard",
         fall=inches(30), guarded=False, **NO_STAIR),
    _row("guard.needed.drop", NOT_MET, "30 in and 1 nm needs one, none stands",
         fall=inches(30) + 1, guarded=False, **NO_STAIR),
    _row("guard.needed.drop", MET, "30 in and 1 nm needs one, it stands",
         fall=inches(30) + 1, **NO_STAIR),
    _row("guard.needed.drop", NOT_ASSESSED, "drop not taped, no guard",
         fall=None, guarded=False, **NO_STAIR),
    _row("guard.needed.drop", MET, "drop not taped, a guard stands anyway", fall=None, **NO_STAIR),
    _row("guard.height.level", NOT_MET, "36 in less 1 nm is too low",
         guard_height_nm=inches(36) - 1),
    _row("guard.height.level", MET, "exactly 36 in is high enough", guard_height_nm=inches(36)),
    _row("guard.height.level", MET, "36 in and 1 nm", guard_height_nm=inches(36) + 1),
    _row("guard.height.level", NOT_MET, "the printed 914 mm is not the limit",
         guard_height_nm=millimetres(914)),
    _row("guard.height.level", NOT_APPLICABLE, "a low guard over 30 in is not a required one",
         guard_height_nm=inches(30), fall=inches(30)),
    _row("guard.height.level", NOT_MET, "drop not taped, so a guard is taken as required",
         guard_height_nm=inches(30), fall=None),
    _row("guard.height.stair", NOT_MET, "34 in less 1 nm is too low",
         stair_guard_height_nm=inches(34) - 1),
    _row("guard.height.stair", MET, "exactly 34 in is high enough",
         stair_guard_height_nm=inches(34)),
    _row("guard.height.stair", MET, "34 in and 1 nm", stair_guard_height_nm=inches(34) + 1),
    _row("guard.height.stair", NOT_APPLICABLE, "highest tread exactly 30 in up",
         stair_guard_height_nm=inches(30), total_rise=inches(36), risers=6),
    _row("guard.height.stair", NOT_MET, "highest tread a third of a nm over 30 in",
         stair_guard_height_nm=inches(30), total_rise=inches(45) + 1, risers=3),
    _row("guard.height.as_handrail", NOT_MET, "34 in less 1 nm",
         stair_guard_height_nm=inches(34) - 1),
    _row("guard.height.as_handrail", MET, "exactly 34 in", stair_guard_height_nm=inches(34)),
    _row("guard.height.as_handrail", MET, "exactly 38 in", stair_guard_height_nm=inches(38)),
    _row("guard.height.as_handrail", NOT_MET, "38 in and 1 nm",
         stair_guard_height_nm=inches(38) + 1),
    _row("guard.height.as_handrail", NOT_APPLICABLE, "three risers need no handrail",
         stair_guard_height_nm=inches(42), risers=3),
    _row("guard.opening.level", MET, "between pickets, just under 4 in",
         level_gaps=(GAP, inches(4) - 1, GAP)),
    _row("guard.opening.level", NOT_MET, "between pickets, 4 in lets a 4 in sphere pass",
         level_gaps=(GAP, inches(4), GAP)),
    _row("guard.opening.level", NOT_MET, "between pickets, the printed 102 mm is not the limit",
         level_gaps=(GAP, millimetres(102), GAP)),
    _row("guard.opening.level", NOT_MET, "beside a post, exactly 4 in",
         level_gaps=(inches(4), GAP, GAP)),
    _row("guard.opening.level", MET, "under the bottom rail, just under 4 in",
         bottom_gap_nm=inches(4) - 1),
    _row("guard.opening.level", NOT_MET, "under the bottom rail, exactly 4 in",
         bottom_gap_nm=inches(4)),
    _row("guard.opening.level", NOT_MET, "beside a wall, exactly 4 in",
         openings=(ClearOpening("P1", "post to wall", inches(4), on_stair=False),)),
    _row("guard.opening.level", MET, "beside a wall, just under 4 in",
         openings=(ClearOpening("P1", "post to wall", inches(4) - 1, on_stair=False),)),
    _row("guard.opening.stair_side", MET, "just under 4-3/8 in",
         stair_gaps=(GAP, inch("4-3/8") - 1, GAP)),
    _row("guard.opening.stair_side", NOT_MET, "4-3/8 in lets its sphere pass",
         stair_gaps=(GAP, inch("4-3/8"), GAP)),
    _row("guard.opening.stair_side", NOT_MET, "4-3/8 in and 1 nm",
         stair_gaps=(GAP, inch("4-3/8") + 1, GAP)),
    _row("guard.opening.stair_side", MET, "4 in is too wide on the level, not on a stair",
         stair_gaps=(GAP, inches(4), GAP)),
    _row("guard.opening.stair_triangle", MET, "7-1/2 on 10, rail just under 1-1/2 in up",
         nosing=0, stair_bottom_gap_nm=inch("1-1/2") - 1),
    _row("guard.opening.stair_triangle", NOT_MET, "7-1/2 on 10, rail 1-1/2 in up: exactly 6 in",
         nosing=0, stair_bottom_gap_nm=inch("1-1/2")),
    _row("guard.opening.stair_triangle", NOT_MET, "7-1/2 on 10, rail just over 1-1/2 in up",
         nosing=0, stair_bottom_gap_nm=inch("1-1/2") + 1),
    _row("guard.opening.stair_triangle", MET, "1 in nosing, rail just under 3/4 in up",
         nosing=inches(1), stair_bottom_gap_nm=inch("3/4") - 1),
    _row("guard.opening.stair_triangle", NOT_MET, "1 in nosing, rail 3/4 in up: exactly 6 in",
         nosing=inches(1), stair_bottom_gap_nm=inch("3/4")),
    _row("guard.opening.stair_triangle", NOT_ASSESSED, "a 2 in riser is too low for the circle",
         nosing=0, total_rise=inches(50), risers=25, stair_bottom_gap_nm=inches(4)),
    _row("guard.opening.stair_triangle", NOT_MET, "too low a riser, but the triangle passes 6 in",
         nosing=0, total_rise=inches(50), risers=25, stair_bottom_gap_nm=inches(12)),
]  # fmt: skip

STAIR_ROWS = [
    _row("stair.width.above_rail", NOT_MET, "36 in less 1 nm", width=inches(36) - 1),
    _row("stair.width.above_rail", MET, "exactly 36 in", width=inches(36)),
    _row("stair.width.above_rail", MET, "36 in and 1 nm", width=inches(36) + 1),
    _row("stair.width.one_rail", NOT_MET, "31-1/2 in less 1 nm",
         clear_width=inch("31-1/2") - 1, sides=(Side.LEFT,)),
    _row("stair.width.one_rail", NOT_MET, "the printed 787 mm is not the limit",
         clear_width=millimetres(787), sides=(Side.LEFT,)),
    _row("stair.width.one_rail", MET, "exactly 31-1/2 in",
         clear_width=inch("31-1/2"), sides=(Side.LEFT,)),
    _row("stair.width.one_rail", MET, "31-1/2 in and 1 nm",
         clear_width=inch("31-1/2") + 1, sides=(Side.LEFT,)),
    _row("stair.width.one_rail", NOT_APPLICABLE, "rails on both sides",
         clear_width=inches(30)),
    _row("stair.width.two_rails", NOT_MET, "27 in less 1 nm", clear_width=inches(27) - 1),
    _row("stair.width.two_rails", MET, "exactly 27 in, under the printed 698 mm",
         clear_width=inches(27)),
    _row("stair.width.two_rails", MET, "27 in and 1 nm", clear_width=inches(27) + 1),
    _row("stair.width.two_rails", NOT_APPLICABLE, "one rail",
         clear_width=inches(27), sides=(Side.RIGHT,)),
    _row("stair.flight_rise", MET, "151 in less 1 nm", total_rise=inches(151) - 1, risers=20),
    _row("stair.flight_rise", MET, "exactly 151 in", total_rise=inches(151), risers=20),
    _row("stair.flight_rise", NOT_MET, "151 in and 1 nm", total_rise=inches(151) + 1, risers=20),
    _row("stair.riser", MET, "7-3/4 in less a seventh of a nm",
         total_rise=7 * inch("7-3/4") - 1, risers=7),
    _row("stair.riser", MET, "exactly 7-3/4 in, over the printed 196 mm",
         total_rise=7 * inch("7-3/4"), risers=7),
    _row("stair.riser", NOT_MET, "7-3/4 in and a seventh of a nm",
         total_rise=7 * inch("7-3/4") + 1, risers=7),
    _row("stair.tread", NOT_MET, "10 in less 1 nm", unit_run=inches(10) - 1),
    _row("stair.tread", MET, "exactly 10 in", unit_run=inches(10)),
    _row("stair.tread", MET, "10 in and 1 nm", unit_run=inches(10) + 1),
    _row("stair.nosing.projection", NOT_MET, "3/4 in less 1 nm", nosing=inch("3/4") - 1),
    _row("stair.nosing.projection", MET, "exactly 3/4 in", nosing=inch("3/4")),
    _row("stair.nosing.projection", MET, "exactly 1-1/4 in", nosing=inch("1-1/4")),
    _row("stair.nosing.projection", NOT_MET, "1-1/4 in and 1 nm", nosing=inch("1-1/4") + 1),
    _row("stair.nosing.projection", NOT_MET, "none on a tread just under 11 in",
         nosing=0, unit_run=inches(11) - 1),
    _row("stair.nosing.projection", NOT_APPLICABLE, "none on a tread of exactly 11 in",
         nosing=0, unit_run=inches(11)),
    _row("stair.riser.open", NOT_APPLICABLE, "head of the flight exactly 30 in up",
         total_rise=inches(30), risers=4),
    _row("stair.riser.open", NOT_ASSESSED, "head of the flight just over 30 in up",
         total_rise=inches(30) + 1, risers=4),
]  # fmt: skip

HANDRAIL_ROWS = [
    _row("handrail.needed", NOT_APPLICABLE, "three risers", risers=3, railed=()),
    _row("handrail.needed", MET, "four risers and a rail", risers=4),
    _row("handrail.needed", NOT_MET, "four risers, both sides open, no rail",
         risers=4, railed=()),
    _row("handrail.needed", NOT_ASSESSED, "four risers between walls", risers=4, sides=()),
    _row("handrail.height", NOT_MET, "34 in less 1 nm", stair_guard_height_nm=inches(34) - 1),
    _row("handrail.height", MET, "exactly 34 in", stair_guard_height_nm=inches(34)),
    _row("handrail.height", MET, "exactly 38 in", stair_guard_height_nm=inches(38)),
    _row("handrail.height", NOT_MET, "38 in and 1 nm", stair_guard_height_nm=inches(38) + 1),
    _row("handrail.height", NOT_APPLICABLE, "three risers need none",
         risers=3, stair_guard_height_nm=inches(30)),
    _row("handrail.height", NOT_MET, "a low flight of four risers needs one without a guard",
         total_rise=inches(28), risers=4, stair_guard_height_nm=inches(33)),
    _row("handrail.continuous", MET, "to the lowest riser, exactly",
         nosing=inches(1), bottom_x=inches(59)),
    _row("handrail.continuous", NOT_MET, "1 nm short of the lowest riser",
         nosing=inches(1), bottom_x=inches(59) - 1),
    _row("handrail.continuous", MET, "starting newel at the back of the lowest tread",
         bottom_x=inches(50), bottom_surface="tread"),
    _row("handrail.continuous", NOT_MET, "newel one tread further up",
         bottom_x=inches(50) - 1, bottom_surface="tread"),
    _row("handrail.continuous", NOT_MET, "rails cut at a post on the flight",
         bays=2, method=Method.BETWEEN_POSTS),
    _row("handrail.continuous", MET, "rails run past a post on the flight", bays=2),
    _row("handrail.returns", MET, "posts reach up to the rail"),
    _row("handrail.returns", NOT_MET, "posts end under the rail",
         stair_guard_height_nm=inches(48)),
    # 5/8 x 1-3/8 in: a rectangle round of exactly 4 in.
    _row("handrail.grip.perimeter", NOT_MET, "under 4 in round at its fullest",
         top_rail=RailProfile(inch("5/8") - 1, inch("1-3/8"))),
    _row("handrail.grip.perimeter", NOT_ASSESSED, "exactly 4 in round at its fullest",
         top_rail=_rail("5/8", "1-3/8")),
    # Diagonal of 1.2 x 1.6 in is 2 in, so a diamond in it is exactly 4 in round.
    _row("handrail.grip.perimeter", MET, "exactly 4 in round at its slimmest",
         top_rail=RailProfile(inches(6) // 5, inches(8) // 5)),
    _row("handrail.grip.perimeter", NOT_ASSESSED, "just under 4 in round at its slimmest",
         top_rail=RailProfile(inches(6) // 5 - 1, inches(8) // 5)),
    _row("handrail.grip.perimeter", MET, "exactly 6-1/4 in round at its fullest",
         top_rail=_rail("1-1/2", "1-5/8")),
    _row("handrail.grip.perimeter", NOT_ASSESSED, "may pass 6-1/4 in round",
         top_rail=RailProfile(inch("1-1/2"), inch("1-5/8") + 1)),
    _row("handrail.grip.perimeter", NOT_APPLICABLE, "surely over 6-1/4 in: needs recesses",
         top_rail=_rail("1-1/2", "5-1/2")),
    # 7 : 24 : 25, so 0.63 x 2.16 in has a diagonal of exactly 2-1/4 in.
    _row("handrail.grip.cross_section", MET, "diagonal exactly 2-1/4 in",
         top_rail=RailProfile(inches(0, 63, 100), inches(2, 16, 100))),
    _row("handrail.grip.cross_section", NOT_ASSESSED, "diagonal just over 2-1/4 in",
         top_rail=RailProfile(inches(0, 63, 100) + 1, inches(2, 16, 100))),
    _row("handrail.grip.cross_section", NOT_ASSESSED, "exactly 2-1/4 in wide, more across",
         top_rail=_rail("3/4", "2-1/4")),
    _row("handrail.grip.cross_section", NOT_MET, "2-1/4 in and 1 nm wide",
         top_rail=RailProfile(inch("3/4"), inch("2-1/4") + 1)),
    _row("handrail.grip.recess_width", MET, "exactly 2-3/4 in wide",
         top_rail=_rail("2", "2-3/4")),
    _row("handrail.grip.recess_width", NOT_MET, "2-3/4 in and 1 nm wide",
         top_rail=RailProfile(inches(2), inch("2-3/4") + 1)),
    _row("handrail.grip.recess_width", MET, "exactly 1-1/4 in wide",
         top_rail=_rail("3", "1-1/4")),
    _row("handrail.grip.recess_width", NOT_MET, "1-1/4 in less 1 nm wide",
         top_rail=RailProfile(inches(3), inch("1-1/4") - 1)),
]  # fmt: skip

ROWS = [*GUARD_ROWS, *STAIR_ROWS, *HANDRAIL_ROWS]


@pytest.mark.parametrize("edition", ["2018", "2021", "2024"])
@pytest.mark.parametrize(("key", "built", "outcome"), ROWS)
def test_clause_at_its_limit(
    key: str, built: dict[str, Any], outcome: Outcome, edition: str
) -> None:
    assert outcome_of(key, layout(**built), edition) is outcome

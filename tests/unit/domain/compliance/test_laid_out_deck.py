"""Decks that the layout engine lays out, held against the IRC 2021."""

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Outcome
from tests.unit.domain.compliance.builders import LIBRARY
from tests.unit.domain.layout.builders import demo


def test_deck_laid_out_by_the_engine_meets_what_can_be_measured() -> None:
    found = assess(LIBRARY.clauses("IRC", "2021"), demo())
    assert [f.clause.key for f in found if f.outcome is Outcome.NOT_MET] == []
    met = {f.clause.key for f in found if f.outcome is Outcome.MET}
    assert met >= {
        "guard.height.level", "guard.height.stair", "guard.opening.level",
        "guard.opening.stair_side", "guard.opening.stair_triangle", "stair.riser",
        "handrail.continuous", "handrail.returns",
    }  # fmt: skip

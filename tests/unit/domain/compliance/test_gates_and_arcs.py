"""Gates with leaves, and edges built as chords, as clauses see them."""

from dataclasses import replace

from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measures_guard import guard_heights, guard_needs
from service.domain.compliance.measures_openings import clear_openings
from service.domain.layout.deck import Deck, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import GateParts
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, with_opening

GATED = replace(SYSTEM, gates=GateParts(inches(1), inches(2), inches(3), inches(48)))


def job(*, gates: bool = True) -> Layout:
    """A gate in the front, the right side an arc."""
    place = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.GATE, "gate", 36, 60)
    edges = (place.edges[0], replace(place.edges[1], sagitta_nm=inches(20)), *place.edges[2:])
    return lay_out(Deck((replace(place, edges=edges),)), GATED if gates else SYSTEM)


def test_an_arc_needs_its_guard_once() -> None:
    needs = [m for m in guard_needs(Inspection(job())) if m.element == "level main, edge 2"]
    assert [(m.present, m.value) for m in needs] == [(True, inches(52))]


def test_the_gaps_of_a_gate_are_measured_and_its_inside_is_not() -> None:
    found = {m.note: m for m in clear_openings(Inspection(job())) if m.element == "gate"}
    assert {note: m.value for note, m in found.items()} == {
        "Opening gate to post.": inches(2),
        "Opening under the gate.": inches(3),
        "Gate in level main, edge 1: the inside of its leaf is not described.": None,
    }
    assert found["Opening gate to post."].attributes["upright"] == "yes"
    assert found["Opening under the gate."].attributes["drop"] == inches(52)


def test_a_leaf_is_as_high_as_the_guard() -> None:
    (gate,) = [m for m in guard_heights(Inspection(job())) if m.element == "gate"]
    assert gate.value == inches(36)
    (gate,) = [m for m in guard_heights(Inspection(job(gates=False))) if m.element == "gate"]
    assert gate.value is None

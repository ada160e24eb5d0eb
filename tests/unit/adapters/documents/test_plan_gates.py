"""Gates and arcs on the drawing."""

import re
from dataclasses import replace
from html import unescape
from xml.etree import ElementTree

import pytest

from service.adapters.documents.drawing_svg import render
from service.domain.layout.deck import Deck, OpeningKind, Swing
from service.domain.layout.lay_out import lay_out
from service.domain.layout.system import GateParts
from service.domain.lengths import inches
from service.usecases.orders import Units
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, with_opening

HUNG = replace(SYSTEM, gates=GateParts(inches(0, 1, 2), inches(0, 1, 2), inches(2), inches(48)))


def drawn(swing: Swing) -> str:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.GATE, "side gate", 36, 60)
    edge = front.edges[0]
    gate = replace(edge.openings[0], swing=swing)
    front = replace(front, edges=(replace(edge, openings=(gate,)), *front.edges[1:]))
    return render(lay_out(Deck((front,)), HUNG), Units.IMPERIAL).decode()


@pytest.mark.parametrize(
    ("swing", "tip"),
    [pytest.param(Swing.OUT, "V33.867", id="out"), pytest.param(Swing.IN, "V-40.217", id="in")],
)
def test_a_hung_gate_is_drawn_closed_open_and_with_its_swing(swing: Swing, tip: str) -> None:
    """A leaf of 35 in is 37.042 mm at 1 : 24; it hangs on the left as one walks out and down."""
    group = re.search(r'<g id="gate-1-1-1".*?</g>', drawn(swing), re.S)
    assert group is not None
    assert f"leaf 2' 11\", swings {swing.value} on P3" in unescape(group.group(0))
    closed, opened, arc = re.search(r' d="M(.*?)M(.*?)M(.*?)"', group.group(0)).groups()
    assert closed == "101.6 -3.175H64.558"
    assert opened == f"101.6 -3.175{tip}"
    assert arc.count("L") == 9


def test_chords_of_an_arc_have_ids_of_their_own() -> None:
    front = level(RECTANGLE, "ooow")
    edges = (front.edges[0], replace(front.edges[1], sagitta_nm=inches(20)), *front.edges[2:])
    text = render(lay_out(Deck((replace(front, edges=edges),)), SYSTEM), Units.METRIC)
    ids = [one.get("id") for one in ElementTree.fromstring(text).iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    assert {"edge-1-2-1", "edge-1-2-2", "edge-1-1"} <= set(ids)

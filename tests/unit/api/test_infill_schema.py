"""Infill in requests: what it loads into, what is at odds, what is too much."""

import copy
import json
from decimal import Decimal
from pathlib import Path

import pytest
from marshmallow import ValidationError

from service.api.schemas.requests import CODE_CHECK_REQUEST, LAYOUT_REQUEST, QUOTE_REQUEST
from service.domain.errors import TooLarge
from service.domain.layout.system import Cables, Glass, InfillRails, PanelStock, no_pickets
from service.domain.lengths import inches, millimetres

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
REQUESTS = {
    "cable-quote": QUOTE_REQUEST,
    "glass-layout": LAYOUT_REQUEST,
    "rails-code-check": CODE_CHECK_REQUEST,
}
BODIES = {name: json.loads((EXAMPLES / f"{name}-request.json").read_bytes()) for name in REQUESTS}


def changed(name, path, value):
    body = copy.deepcopy(BODIES[name])
    branch = body["system"]
    for step in path[:-1]:
        branch = branch[step]
    if value is ...:
        del branch[path[-1]]
    else:
        branch[path[-1]] = value
    return body


def test_cables_load():
    system = QUOTE_REQUEST.load(BODIES["cable-quote"]).system
    assert system.infill == Cables(
        diameter_nm=inches(0, 3, 16),
        max_gap_nm=inches(4),
        max_support_nm=inches(42),
        max_length_nm=inches(480),
        deflection_nm=inches(0, 1, 2),
        end_allowance_nm=inches(1, 1, 2),
        max_corners=1,
        ends_at_line_posts=False,
    )
    assert system.pickets == no_pickets(inches(4))


def test_glass_loads_with_its_clamps_in_order():
    body = changed("glass-layout", ("glass", "clamps"), [
        {"up_to": "1.1 m", "per_panel": 6}, {"up_to": "800 mm", "per_panel": 4},
    ])  # fmt: skip
    glass = LAYOUT_REQUEST.load(body).system.infill
    assert isinstance(glass, Glass)
    assert [(row.up_to_nm, row.per_panel) for row in glass.clamps] == [
        (millimetres(800), 4),
        (millimetres(1100), 6),
    ]
    assert glass.stock[0] == PanelStock("pane 1200", millimetres(1200))
    assert (glass.mass_kg_m2, glass.max_mass_kg) == (Decimal("25.0"), Decimal(50))
    assert glass.bottom_rail


def test_rails_load():
    system = CODE_CHECK_REQUEST.load(BODIES["rails-code-check"]).system
    assert system.infill == InfillRails(millimetres(20), millimetres(100), past_line_posts=True)


@pytest.mark.parametrize(
    ("name", "path", "value", "place", "message"),
    [
        pytest.param("cable-quote", ("cables",), ..., ("cables",), "describe it", id="not there"),
        pytest.param("cable-quote", ("infill",), ..., ("pickets",), "describe it", id="default"),
        pytest.param("cable-quote", ("infill",), ..., ("cables",), "leave this", id="not named"),
        pytest.param("cable-quote", ("infill",), "rope", ("infill",), "Use one of", id="rope"),
        pytest.param(
            "cable-quote",
            ("cables", "deflection"),
            "4 in",
            ("cables", "deflection"),
            "none at rest",
            id="cables that give way altogether",
        ),
        pytest.param(
            "cable-quote",
            ("parts", 5, "per_area"),
            True,
            ("parts", 5, "per_area"),
            "not by both",
            id="length and area",
        ),
        pytest.param(
            "glass-layout", ("glass", "min_gap"), "90 mm", ("glass", "min_gap"), "less", id="gaps"
        ),
        pytest.param(
            "glass-layout",
            ("glass", "max_mass"),
            "0",
            ("glass", "max_mass"),
            "more than zero",
            id="nothing can be carried",
        ),
        pytest.param(
            "glass-layout",
            ("glass", "mass_per_m2"),
            "0.0",
            ("glass", "mass_per_m2"),
            "more than zero",
            id="no mass",
        ),
        pytest.param(
            "glass-layout",
            ("glass", "stock", 1, "width"),
            "1.2 m",
            ("glass", "stock", 1, "width"),
            "this width",
            id="two names for one width",
        ),
        pytest.param(
            "glass-layout",
            ("glass", "stock", 1, "width"),
            "2 m",
            ("glass", "stock", 1, "width"),
            "min_width to max_width",
            id="a pane wider than the widest",
        ),
        pytest.param(
            "glass-layout",
            ("glass", "stock", 1, "name"),
            "pane 1200",
            ("glass", "stock", 1, "name"),
            "is taken",
            id="one name twice",
        ),
        pytest.param(
            "glass-layout",
            ("glass", "min_width"),
            "1.5 m",
            ("glass", "min_width"),
            "wider than the widest",
            id="widths crossed",
        ),
        pytest.param(
            "glass-layout", ("glass", "step"), "2 m", ("glass", "step"), "multiple", id="step"
        ),
    ],
)
def test_each_complaint_stands_at_its_member(name, path, value, place, message):
    with pytest.raises(ValidationError) as refusal:
        REQUESTS[name].load(changed(name, path, value))
    branch = refusal.value.messages["system"]
    for step in place:
        branch = branch[step]
    assert message in " ".join(branch)


@pytest.mark.parametrize(
    ("name", "path", "value", "message"),
    [
        pytest.param(
            "rails-code-check", ("rails", "max_gap"), "0.000001 mm", "above each other", id="lines"
        ),
        pytest.param("glass-layout", ("glass", "min_width"), "0.01 mm", "panels", id="slivers"),
    ],
)
def test_more_infill_than_can_be_listed_is_refused(name, path, value, message):
    body = changed(name, path, value)
    if name == "rails-code-check":
        body["system"]["rails"]["depth"] = "0.01 mm"
    with pytest.raises(TooLarge, match=message):
        REQUESTS[name].load(body)

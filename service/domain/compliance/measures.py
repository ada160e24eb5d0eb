"""Every way of measuring a layout that a clause may name."""

from collections.abc import Mapping

from service.domain.compliance import measures_guard as guard
from service.domain.compliance import measures_handrail as handrail
from service.domain.compliance import measures_stair as stair
from service.domain.compliance.measurement import Measure

_PLACED = frozenset({"place", "drop"})
_RISERS = frozenset({"risers"})

MEASURES: Mapping[str, Measure] = {
    "guard_needs": Measure(guard.guard_needs, _PLACED),
    "guard_heights": Measure(guard.guard_heights, _PLACED | _RISERS),
    "clear_openings": Measure(guard.clear_openings, _PLACED),
    "stair_triangles": Measure(guard.stair_triangles, _PLACED),
    "undescribed_edges": Measure(guard.undescribed_edges, dimensioned=False),
    "undescribed_guards": Measure(
        guard.undescribed_guards, frozenset({"mount"}), dimensioned=False
    ),
    "undescribed_deck": Measure(guard.undescribed_deck, dimensioned=False),
    "stair_risers": Measure(stair.stair_risers, stair.STAIR_ATTRIBUTES),
    "stair_treads": Measure(stair.stair_treads, stair.STAIR_ATTRIBUTES),
    "stair_nosings": Measure(stair.stair_nosings, stair.STAIR_ATTRIBUTES),
    "flight_rises": Measure(stair.flight_rises, stair.STAIR_ATTRIBUTES),
    "stair_widths_between_rails": Measure(stair.stair_widths_between_rails, stair.STAIR_ATTRIBUTES),
    "stair_widths_above_rails": Measure(stair.stair_widths_above_rails, stair.STAIR_ATTRIBUTES),
    "undescribed_stairs": Measure(
        stair.undescribed_stairs, stair.STAIR_ATTRIBUTES, dimensioned=False
    ),
    "walled_stair_sides": Measure(
        stair.walled_stair_sides, stair.STAIR_ATTRIBUTES, dimensioned=False
    ),
    "handrail_needs": Measure(handrail.handrail_needs, _RISERS),
    "handrail_heights": Measure(handrail.handrail_heights, _RISERS),
    "handrail_continuity": Measure(handrail.handrail_continuity, _RISERS),
    "handrail_ends": Measure(handrail.handrail_ends, _RISERS),
    "grip_perimeters": Measure(handrail.grip_perimeters, handrail.GRIP_ATTRIBUTES),
    "grip_cross_dimensions": Measure(handrail.grip_cross_dimensions, handrail.GRIP_ATTRIBUTES),
    "grip_widths": Measure(handrail.grip_widths, handrail.GRIP_ATTRIBUTES),
    "undescribed_grips": Measure(
        handrail.undescribed_grips, handrail.GRIP_ATTRIBUTES, dimensioned=False
    ),
}

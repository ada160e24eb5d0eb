"""Every way of measuring a layout that a clause may name."""

from collections.abc import Mapping

from service.domain.compliance import measures_gate as gate
from service.domain.compliance import measures_grip as grip
from service.domain.compliance import measures_guard as guard
from service.domain.compliance import measures_handrail as handrail
from service.domain.compliance import measures_openings as openings
from service.domain.compliance import measures_slope as slope
from service.domain.compliance import measures_stair as stair
from service.domain.compliance.findings import Dimension
from service.domain.compliance.measurement import Measure
from service.domain.compliance.site import ReleaseSide, RiserKind, Use

_PLACED = guard.PLACED
_STAIR = stair.STAIR_ATTRIBUTES
_HANDRAIL = handrail.HANDRAIL_ATTRIBUTES
_GRIP = grip.GRIP_ATTRIBUTES
_GATE = gate.GATE_ATTRIBUTES

_OF_GUARDS: Mapping[str, Measure] = {
    "guard_needs": Measure(guard.guard_needs, _PLACED),
    "drop_reaches": Measure(guard.drop_reaches, frozenset({"distance"})),
    "guard_heights": Measure(guard.guard_heights, guard.GUARD_ATTRIBUTES),
    "climbable_members": Measure(guard.climbable_members, _PLACED, worst_of=True),
    "edge_gaps": Measure(guard.edge_gaps, _PLACED | {"mount"}),
    "clear_openings": Measure(openings.clear_openings, openings.OPENING_ATTRIBUTES),
    "gaps_under": Measure(openings.gaps_under, _PLACED),
    "upright_gaps": Measure(openings.upright_gaps, _PLACED | {"member_spacing"}),
    "stair_triangles": Measure(openings.stair_triangles, _PLACED),
    "undescribed_edges": Measure(guard.undescribed_edges, dimensioned=False),
    "gates_shutting": Measure(gate.gates_shutting, _GATE, of=None),
    "release_heights": Measure(gate.release_heights, _GATE),
    "release_openings": Measure(gate.release_openings, _GATE),
    "releases_below_top": Measure(gate.releases_below_top, _GATE),
    "undescribed_guards": Measure(
        guard.undescribed_guards, frozenset({"mount"}), dimensioned=False
    ),
    "undescribed_deck": Measure(guard.undescribed_deck, dimensioned=False),
}
_OF_STAIRS: Mapping[str, Measure] = {
    "stair_risers": Measure(stair.stair_risers, _STAIR, worst_of=True),
    "stair_treads": Measure(stair.stair_treads, _STAIR, worst_of=True),
    "stair_nosings": Measure(stair.stair_nosings, _STAIR, worst_of=True),
    "riser_spreads": Measure(stair.riser_spreads, _STAIR),
    "riser_steps": Measure(stair.riser_steps, _STAIR),
    "riser_gaps": Measure(stair.riser_gaps, _STAIR),
    "riser_counts": Measure(stair.riser_counts, _STAIR, of=Dimension.COUNT),
    "tread_spreads": Measure(stair.tread_spreads, _STAIR),
    "tread_steps": Measure(stair.tread_steps, _STAIR),
    "nosing_spreads": Measure(stair.nosing_spreads, _STAIR),
    "nosing_radii": Measure(stair.nosing_radii, _STAIR),
    "step_sums": Measure(stair.step_sums, _STAIR),
    "stair_pitches": Measure(stair.stair_pitches, _STAIR, of=Dimension.ANGLE),
    "flight_rises": Measure(stair.flight_rises, _STAIR),
    "headrooms": Measure(stair.headrooms, _STAIR),
    "stair_slopes": Measure(slope.stair_slopes, _STAIR, of=Dimension.SLOPE),
    "riser_leans": Measure(slope.riser_leans, _STAIR, of=Dimension.ANGLE),
    "landing_depths": Measure(stair.landing_depths, _STAIR | {"landing"}),
    "stair_widths_between_rails": Measure(stair.stair_widths_between_rails, _STAIR),
    "stair_widths_between_guards": Measure(stair.stair_widths_between_guards, _STAIR),
    "stair_widths_above_rails": Measure(stair.stair_widths_above_rails, _STAIR),
    "undescribed_stairs": Measure(stair.undescribed_stairs, _STAIR, dimensioned=False),
}
_OF_HANDRAILS: Mapping[str, Measure] = {
    "handrail_needs": Measure(handrail.handrail_needs, _HANDRAIL, of=Dimension.COUNT),
    "handrail_rises": Measure(handrail.handrail_rises, _HANDRAIL),
    "handrail_sides": Measure(handrail.handrail_sides, _HANDRAIL, of=Dimension.COUNT),
    "handrail_heights": Measure(handrail.handrail_heights, _HANDRAIL),
    "handrail_continuity": Measure(handrail.handrail_continuity, _HANDRAIL, of=None),
    "handrail_ends": Measure(handrail.handrail_ends, _HANDRAIL, of=None),
    "handrail_clearances": Measure(handrail.handrail_clearances, _HANDRAIL),
    "handrail_projections": Measure(handrail.handrail_projections, _HANDRAIL),
    "handrail_top_extensions": Measure(handrail.handrail_top_extensions, _HANDRAIL),
    "handrail_bottom_extensions": Measure(handrail.handrail_bottom_extensions, _HANDRAIL, of=None),
    "handrail_reaches": Measure(handrail.handrail_reaches, _HANDRAIL),
    "handrail_bracket_spacings": Measure(handrail.handrail_bracket_spacings, _HANDRAIL),
    "grip_diameters": Measure(grip.grip_diameters, _GRIP),
    "grip_perimeters": Measure(grip.grip_perimeters, _GRIP),
    "grip_cross_dimensions": Measure(grip.grip_cross_dimensions, _GRIP),
    "grip_widths": Measure(grip.grip_widths, _GRIP),
    "grip_edges": Measure(grip.grip_edges, _GRIP),
    "recess_starts": Measure(grip.recess_starts, _GRIP),
    "recess_depths": Measure(grip.recess_depths, _GRIP),
    "undescribed_grips": Measure(grip.undescribed_grips, _GRIP, dimensioned=False),
}
MEASURES: Mapping[str, Measure] = {**_OF_GUARDS, **_OF_STAIRS, **_OF_HANDRAILS}

_YES_OR_NO = ("yes", "no")
# Words that elements, the site and the clauses on needs give; any other attribute is a number.
ATTRIBUTE_WORDS: Mapping[str, tuple[str, ...]] = {
    "guard": ("required",),
    "handrail": ("required",),
    "place": ("level", "stair"),
    "mount": ("top", "side"),
    "landing": ("top", "bottom"),
    "rails": ("0", "1", "2"),
    "riser_kind": tuple(RiserKind),
    "release_side": tuple(ReleaseSide),
    "shape": ("round", "not round"),
    "top_rail": ("handrail", "guard only"),
    "upright": _YES_OR_NO,
    "between": ("cables", "other"),
    "use": tuple(Use),
    "dwelling": _YES_OR_NO,
    "one_or_two_family": _YES_OR_NO,
    "private": _YES_OR_NO,
    "pool_barrier": _YES_OR_NO,
}
COUNTED_ATTRIBUTES = frozenset({"risers"})  # the other numbers are lengths

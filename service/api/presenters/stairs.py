"""Stairs beyond posts and rails: flights in plan, handrails, transitions and raked ends."""

from service.api.presenters.values import Json, angle, length, lengths, point
from service.domain.layout.records import Layout, Rake, StairPlan
from service.domain.layout.stair_records import Handrail, RakedFit, Transition
from service.usecases.orders import Units


def present_stairs(layout: Layout, units: Units) -> Json:
    """Give what the layout says of its stairs."""
    return {
        "stairs": [_stair(stair, units) for stair in layout.stairs],
        "handrails": [_handrail(handrail, units) for handrail in layout.handrails],
        "transitions": [_transition(one, units) for one in layout.transitions],
        "raked_fits": [_raked_fit(fit, units) for fit in layout.raked_fits],
    }


def present_rake(rake: Rake | None, units: Units) -> Json | None:
    """Give the slope of a flight, or None on the level."""
    if rake is None:
        return None
    return {
        "rise": length(rake.rise_nm, units),
        "run": length(rake.run_nm, units),
        "angle_deg": angle(rake.angle_deg),
    }


def _stair(stair: StairPlan, units: Units) -> Json:
    return {
        "name": stair.name,
        "level": stair.level,
        "edge": stair.edge,
        "top": [point(at, units) for at in stair.top],
        "down": {"x": round(stair.down[0], 9) + 0.0, "y": round(stair.down[1], 9) + 0.0},
        "rake": present_rake(stair.rake, units),
        "clear_width": length(stair.clear_width_nm, units),
        "bottom": stair.bottom.value,
    }


def _handrail(handrail: Handrail, units: Units) -> Json:
    return {
        "name": handrail.name,
        "stair": handrail.stair,
        "side": handrail.side.value,
        "mount": handrail.mount.value,
        "height": length(handrail.height_nm, units),
        "slope_length": length(handrail.slope_nm, units),
        "top_extension": length(handrail.top_extension_nm, units),
        "pieces": lengths(handrail.pieces_nm, units),
        "returns": lengths(handrail.returns_nm, units),
        "brackets": lengths(handrail.brackets_nm, units),
        "clearance": length(handrail.clearance_nm, units),
        "projection": length(handrail.projection_nm, units),
        "saw_deg": angle(handrail.saw_deg),
    }


def _transition(transition: Transition, units: Units) -> Json:
    return {
        "post": transition.post,
        "section": transition.section,
        "level_top": length(transition.level_top_nm, units),
        "stair_top": length(transition.stair_top_nm, units),
        "step": length(transition.step_nm, units),
        "mitre_deg": angle(transition.mitre_deg),
    }


def _raked_fit(fit: RakedFit, units: Units) -> Json:
    return {
        "rail": fit.rail,
        "entry": length(fit.entry_nm, units),
        "saw_deg": angle(fit.saw_deg),
        "visible_gap": length(fit.visible_gap_nm, units),
    }

"""The layout as plain dicts."""

from service.api.presenters.choices import present_choice
from service.api.presenters.infill import present_cable_run, present_infill
from service.api.presenters.stairs import present_rake, present_stairs
from service.api.presenters.supports import present_supports
from service.api.presenters.surveys import present_gate, present_survey
from service.api.presenters.values import (
    Json,
    angle,
    length,
    length_or_none,
    lengths,
    point,
)
from service.domain.layout.records import (
    Layout,
    PicketRow,
    Post,
    Rail,
    RailEnd,
    Run,
    Section,
    Step,
)
from service.spoken_lengths import all_in_units
from service.usecases.orders import Units


def present_layout(layout: Layout, units: Units) -> Json:
    """Give the whole layout, elements in the order the layout names them."""
    return {
        "system": layout.system.name,
        "posts": [_post(post, units) for post in layout.posts],
        "runs": [_run(run, units) for run in layout.runs],
        "sections": [_section(section, units) for section in layout.sections],
        **present_stairs(layout, units),
        "choices": [present_choice(choice, units) for choice in layout.choices],
        "cables": [present_cable_run(run, units) for run in layout.cables],
        "gates": [present_gate(gate, units) for gate in layout.gates],
        "surveys": [present_survey(survey, units) for survey in layout.surveys],
        "clear_openings": [
            {
                "element": opening.element,
                "place": opening.place,
                "clear": length(opening.clear_nm, units),
                "on_stair": opening.on_stair,
            }
            for opening in layout.openings
        ],
        **present_supports(layout, units),
        "installation": [_step(step) for step in layout.steps],
        "notes": all_in_units(layout.notes, units),
    }


def _post(post: Post, units: Units) -> Json:
    return {
        "name": post.name,
        "position": post.position.value,
        "at": point(post.at, units),
        "axis_deg": angle(post.axis_deg),
        "turn_deg": angle(post.turn_deg),
        "surface": post.surface,
        "base": length(post.base_nm, units),
        "height": length(post.height_nm, units),
        "stock": post.stock,
        "level": post.level,
        "edge": post.edge,
        "stair": post.stair,
    }


def _run(run: Run, units: Units) -> Json:
    return {
        "name": run.name,
        "level": run.level,
        "edge": run.edge,
        "stair": run.stair,
        "side": run.side.value if run.side else None,
        "start": run.start,
        "end": run.end,
        "length": length(run.length_nm, units),
        "fall_height": length_or_none(run.fall_height_nm, units),
        "bays": [
            {"start": bay.start, "end": bay.end, "span": length(bay.span_nm, units)}
            for bay in run.bays
        ],
        "rake": present_rake(run.rake, units),
    }


def _section(section: Section, units: Units) -> Json:
    line_posts = zip(section.line_posts, section.line_posts_nm, strict=True)
    return {
        "name": section.name,
        "run": section.run,
        "start": _rail_end(section.start, units),
        "end": _rail_end(section.end, units),
        "line_posts": [
            {"post": name, "from_start": length(at_nm, units)} for name, at_nm in line_posts
        ],
        "carries": list(section.carries),
        "length": length(section.length_nm, units),
        "clear": length(section.clear_nm, units),
        "rails": [_rail(rail, units) for rail in section.rails],
        "pickets": _pickets(section.pickets, units),
        "infill": present_infill(section.infill, units),
        "support_legs": lengths(section.support_legs_nm, units),
        "support_leg_heights": lengths(section.support_leg_heights_nm, units),
        "rake": present_rake(section.rake, units),
    }


def _rail_end(end: RailEnd, units: Units) -> Json:
    return {
        "post": end.post,
        "joint": end.joint.value,
        "angle_deg": angle(end.angle_deg),
        "gap": length(end.gap_nm, units),
        "widest_gap": length_or_none(end.widest_gap_nm, units),
        "hold": length_or_none(end.hold_nm, units),
    }


def _rail(rail: Rail, units: Units) -> Json:
    return {
        "name": rail.name,
        "place": rail.place,
        "from_start": length(rail.start_nm, units),
        "length": length(rail.length_nm, units),
        "saw_deg": angle(rail.saw_deg),
        "pickets": rail.pickets,
        "first_picket": length_or_none(rail.first_picket_nm, units),
        "pitch": length_or_none(rail.pitch_nm, units),
    }


def _pickets(row: PicketRow, units: Units) -> Json:
    return {
        "count": len(row.centres_nm),
        "width": length(row.width_nm, units),
        "length": length(row.length_nm, units),
        "pitch": length(row.pitch_nm, units),
        "end_gaps": lengths(row.end_gaps_nm, units),
        "centred_on": row.centred_on,
        "centres": lengths(row.centres_nm, units),
        "removed": lengths(row.removed_nm, units),
    }


def _step(step: Step) -> Json:
    return {
        "number": step.number,
        "element": step.element,
        "text": step.text,
        "joins": list(step.joins),
        "carries": list(step.carries),
    }

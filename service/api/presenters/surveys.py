"""Gates and survey reports as plain dicts."""

from service.api.presenters.values import Json, length, length_or_none
from service.domain.layout.gate_records import Gate
from service.domain.layout.survey_records import SurveyReport
from service.usecases.orders import Units


def present_gate(gate: Gate, units: Units) -> Json:
    """Give a gate with its leaf."""
    return {
        "name": gate.name,
        "level": gate.level,
        "edge": gate.edge,
        "hinge_post": gate.hinge_post,
        "latch_post": gate.latch_post,
        "opening": length(gate.opening_nm, units),
        "leaf_width": length(gate.leaf_width_nm, units),
        "leaf_height": length(gate.leaf_height_nm, units),
        "swing": gate.swing.value,
        "hinge": gate.hinge.value,
    }


def present_survey(survey: SurveyReport, units: Units) -> Json:
    """Give how well the tape readings of a level agree."""
    return {
        "level": survey.level,
        "method": survey.method.value,
        "misclosure": length_or_none(survey.misclosure_nm, units),
        "precision": survey.precision,
        "residuals": [
            {
                "tape": residual.tape,
                "residual": length(residual.residual_nm, units),
                "standardised": length_or_none(residual.standardised_nm, units),
                "off": length_or_none(residual.off_nm, units),
            }
            for residual in survey.residuals
        ],
    }

"""The screening of the structure as plain dicts: every formula with what went into it."""

from collections import Counter
from decimal import Decimal
from math import isfinite

from service.api.presenters.values import Json
from service.domain.structure.checks import Check, CheckOutcome, Figure, Unit
from service.domain.structure.fasteners import Holes
from service.domain.structure.screening import Screening
from service.quantities import printed_quantity
from service.usecases.orders import Units

SCREENED = (
    "The structural checks are a screening by calculation on the assumptions printed with each; "
    "they never replace the system's test report, the local code or a licensed engineer."
)
DEFAULTS = (
    "Unless a check says otherwise, one post takes the full load, timber is wet in service "
    "outdoors and the load duration factor is 1.0."
)
RIM = (
    "A rim joist that can roll gives way far below the strength of its fasteners: tie it to the "
    "joists."
)


def present_structure(screening: Screening | None, units: Units) -> Json | None:
    """Give the screening, nothing where none was asked for."""
    if screening is None:
        return None
    outcomes = Counter(check.outcome for check in screening.checks)
    holes = screening.holes
    return {
        "cautions": [SCREENED, DEFAULTS, RIM],
        "load_direction": screening.spec.load_direction.value,
        "picket_load": screening.spec.picket_load.value,
        "loads": [load.words for load in screening.loads],
        "test_factor": screening.test_factor,
        "outcomes": {outcome.value: outcomes[outcome] for outcome in CheckOutcome},
        "checks": [_check(check, units) for check in screening.checks],
        "holes": None if holes is None else _holes(holes, units),
    }


def _check(check: Check, units: Units) -> Json:
    return {
        "name": check.name,
        "load": check.load,
        "elements": list(check.elements),
        "worst": list(check.worst),
        "formula": check.formula,
        "inputs": [_figure(figure, units) for figure in check.inputs],
        "result": None if check.result is None else _figure(check.result, units),
        "limit": None if check.limit is None else _figure(check.limit, units),
        "utilisation": _utilisation(check.utilisation),
        "outcome": check.outcome.value,
        "source": check.source,
        "assumptions": list(check.assumptions),
        "missing": check.missing,
        "decides": list(check.clauses),
    }


def _utilisation(utilisation: float | None) -> float | None:
    """Give a utilisation to four figures, rounded away from one so that it reads as judged.

    Example:
        >>> _utilisation(1.00001), _utilisation(0.99999), _utilisation(0.53129)
        (1.0001, 0.9999, 0.5313)
    """
    if utilisation is None or not isfinite(utilisation):
        return None
    rounded = float(f"{utilisation:.4g}")
    if rounded == 1 and utilisation != 1:
        return 1.0001 if utilisation > 1 else 0.9999
    return rounded


def _figure(figure: Figure, units: Units) -> Json:
    value, unit = printed_quantity(figure.value, figure.unit, units)
    shown = float(f"{value:.6g}")
    digits = f"{Decimal(f'{value:.4g}'):f}"
    text = digits if figure.unit is Unit.NUMBER else f"{digits} {unit}"
    return {
        "name": figure.name,
        "meaning": figure.meaning,
        "value": shown,
        "unit": unit,
        "text": text,
    }


def _holes(holes: Holes, units: Units) -> Json:
    return {
        "clearance": _hole("D", "for the shank, its full depth", holes.clearance_mm, units),
        "lead_least": _hole("d_min", "for the thread, least", holes.lead_least_mm, units),
        "lead_most": _hole("d_max", "for the thread, most", holes.lead_most_mm, units),
        "gravity_class": holes.gravity_class,
        "source": "NDS lead hole percentages, from memory; clearance hole by the Wood Handbook",
    }


def _hole(name: str, meaning: str, diameter_mm: float, units: Units) -> Json:
    """Give a hole to the thousandth, since drills come finer than a sixteenth of an inch."""
    return _figure(Figure(name, meaning, diameter_mm, Unit.LENGTH), units)

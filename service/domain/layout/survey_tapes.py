"""Outlines from taped sides and diagonals.

Corners are set one from another, then all tapes are adjusted together. A tape that clearly
contradicts the others is a blunder and is named, not shared out.
"""

import math
from collections.abc import Mapping, Sequence

from service.domain.errors import InvalidGeometry, UnknownReference, Where
from service.domain.layout.deck import Point
from service.domain.layout.survey_adjustment import UNCHECKED, NotSettled, adjust
from service.domain.layout.survey_blunders import refuse_blunder, refuse_weak
from service.domain.layout.survey_net import MOST_NAMED, Net, Tape
from service.domain.layout.survey_placing import Placing, missing_tapes, place_corners
from service.domain.layout.survey_records import (
    SurveyMethod,
    SurveyReport,
    TapeResidual,
    precision_of,
)
from service.domain.layout.survey_sides import closure_tolerance_nm
from service.domain.lengths import mm_of, snap_mm


def survey_of_tapes(
    level: str, corners: Sequence[str], tapes: Sequence[Tape], where: Where = ()
) -> tuple[tuple[Point, ...], SurveyReport]:
    """Find the corners that taped sides and diagonals describe.

    Args:
        level: Name of the level, for the report.
        corners: (n,) names, anticlockwise; of a figure and its mirror image this tells the right
            one.
        tapes: (m,) distances, each across the deck or along its edge, so that it lies inside.
        where: Place of the outline in the request.

    Returns:
        (n, 2) vertices, the first at the origin and the second on the x axis, not closed [nm],
        and how well the tapes agree.

    Raises:
        UnknownReference: A tape names no corner.
        InvalidGeometry: The tapes do not fix every corner, or one contradicts the others.
    """
    net = _net(level, tuple(corners), tuple(tapes), where)
    placing = _placed(net)
    lengths = [mm_of(tape.length_nm) for tape in net.tapes]
    spots = [placing.spots[corner] for corner in range(len(net.corners))]
    try:
        fitted = adjust(spots, net.pairs, lengths)
    except NotSettled:
        raise net.refusal(
            "the tapes do not come together to one outline",
            "Check the tapes, and tape one more diagonal.",
        ) from None
    residuals = tuple(
        _residual(tape, v, r)
        for tape, v, r in zip(net.tapes, fitted.residuals_mm, fitted.redundancies, strict=True)
    )
    refuse_blunder(net, residuals, fitted)
    refuse_weak(net, fitted)
    outline = tuple((snap_mm(x), snap_mm(y)) for x, y in fitted.spots)
    return outline, _report(net, outline, residuals)


def _net(level: str, corners: tuple[str, ...], tapes: tuple[Tape, ...], where: Where) -> Net:
    numbers = {name: number for number, name in enumerate(corners)}
    pairs = []
    for index, tape in enumerate(tapes):
        place = (*where, "tapes", index)
        for name in (tape.start, tape.end):
            if name not in numbers:
                raise UnknownReference(
                    f"tape {tape.name} of level {level} names corner {name}, which is not in "
                    "corners",
                    element=f"level {level}, tape {tape.name}",
                    where=place,
                    advice="Name every corner once, anticlockwise round the deck.",
                )
        if tape.start == tape.end or tape.length_nm <= 0:
            raise InvalidGeometry(
                f"tape {tape.name} of level {level} joins no two corners",
                element=f"level {level}, tape {tape.name}",
                where=place,
                advice="Tape from one corner to another.",
            )
        pairs.append((numbers[tape.start], numbers[tape.end]))
    net = Net(level, corners, tapes, tuple(pairs), where)
    if len(numbers) < 3 or len(numbers) < len(corners):
        raise net.refusal(
            f"level {level} needs at least three corners with a name each",
            "Name every corner once, anticlockwise round the deck.",
        )
    return net


def _links(net: Net) -> Mapping[int, Mapping[int, float]]:
    links: dict[int, dict[int, float]] = {corner: {} for corner in range(len(net.corners))}
    for (a, b), tape in zip(net.pairs, net.tapes, strict=True):
        links[a].setdefault(b, mm_of(tape.length_nm))
        links[b].setdefault(a, mm_of(tape.length_nm))
    return links


def _placed(net: Net) -> Placing:
    links = _links(net)
    placing = place_corners(len(net.corners), links)
    if len(placing.spots) < len(net.corners):
        loose = [
            name for number, name in enumerate(net.corners) if number not in placing.spots
        ] or list(net.corners)
        more = f" and {len(loose) - MOST_NAMED} more" if len(loose) > MOST_NAMED else ""
        missing = missing_tapes(len(net.corners), links)
        raise net.refusal(
            f"the tapes of level {net.level} do not fix corner{'s' * (len(loose) > 1)} "
            f"{', '.join(loose[:MOST_NAMED])}{more}: each needs tapes to two corners that are "
            "fixed",
            f"Tape {net.named(missing)} as well; one tape more than needed checks the others.",
        )
    for corner, setting in sorted(placing.settings.items()):
        a, b = setting.on
        span = net.pairs.index((a, b)) if (a, b) in net.pairs else None
        longest_nm = snap_mm(max(links[corner][a], links[corner][b]))
        if setting.short_mm > mm_of(closure_tolerance_nm(longest_nm)):
            sides = net.named([(a, corner), (b, corner), (a, b)])
            raise net.refusal(
                f"no triangle has the lengths taped between {sides}: {setting.short_mm:.1f} mm "
                "are missing",
                f"Check {sides}.",
                span,
            )
    return placing


def _residual(tape: Tape, residual_mm: float, redundancy: float) -> TapeResidual:
    if redundancy < UNCHECKED:
        return TapeResidual(tape.name, snap_mm(residual_mm), None, None)
    return TapeResidual(
        tape.name,
        snap_mm(residual_mm),
        snap_mm(residual_mm / math.sqrt(redundancy)),
        snap_mm(residual_mm / redundancy),
    )


def _report(
    net: Net, outline: Sequence[Point], residuals: tuple[TapeResidual, ...]
) -> SurveyReport:
    sizes = [abs(r.standardised_nm) for r in residuals if r.standardised_nm is not None]
    if not sizes:
        return SurveyReport(net.level, SurveyMethod.TAPES, None, None, residuals)
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    perimeter_nm = sum(math.isqrt((x - a) ** 2 + (y - b) ** 2) for (a, b), (x, y) in pairs)
    misclosure_nm = max(sizes)
    precision = precision_of(perimeter_nm, misclosure_nm)
    return SurveyReport(net.level, SurveyMethod.TAPES, misclosure_nm, precision, residuals)


def unchecked_note(report: SurveyReport, corners: int) -> str:
    """Say that no tape checks the others, "" where one does."""
    if report.method is SurveyMethod.TAPES and report.misclosure_nm is None:
        return (
            f"Level {report.level}: every one of its {len(report.residuals)} tapes is needed to "
            f"fix its {corners} corners, so none checks another; tape one more diagonal."
        )
    return ""

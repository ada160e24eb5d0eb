"""Outlines from taped sides and diagonals.

Corners are set one from another, then all tapes are adjusted together. A tape that clearly
contradicts the others is a blunder and is named, not shared out.
"""

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.domain.errors import InvalidGeometry, UnknownReference, Where
from service.domain.layout.deck import Point
from service.domain.layout.survey_adjustment import UNCHECKED, Adjustment, NotSettled, adjust
from service.domain.layout.survey_placing import Placing, missing_tapes, place_corners
from service.domain.layout.survey_records import (
    SurveyMethod,
    SurveyReport,
    TapeResidual,
    precision_of,
)
from service.domain.layout.survey_sides import closure_tolerance_nm
from service.domain.lengths import mm_of, snap_mm

# Tapes whose standardised residuals differ by less than this part cannot be told apart.
ALIKE = 0.02
# A corner that an error in the tapes moves by more than this many times that error is not held:
# 1/16 in would become more than an inch (judgement, no standard).
WEAKEST = 16.0
# Tapes named in one message.
MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Tape:
    """A distance taped between two corners. [nm]"""

    start: str
    end: str
    length_nm: int

    @property
    def name(self) -> str:
        """Its corners.

        Example:
            >>> Tape("A", "C", 1).name
            'A-C'
        """
        return f"{self.start}-{self.end}"


@dataclass(frozen=True, slots=True)
class _Net:
    """The tapes of one level, with what messages need to name them."""

    level: str
    corners: tuple[str, ...]
    tapes: tuple[Tape, ...]
    pairs: tuple[tuple[int, int], ...]
    where: Where

    def named(self, pairs: Sequence[tuple[int, int]]) -> str:
        names = [f"{self.corners[a]}-{self.corners[b]}" for a, b in pairs]
        more = len(names) - MOST_NAMED
        return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")

    def refusal(self, detail: str, advice: str, tape: int | None = None) -> InvalidGeometry:
        if tape is None:
            where, element = self.where, f"level {self.level}"
        else:
            where = (*self.where, "tapes", tape)
            element = f"level {self.level}, tape {self.tapes[tape].name}"
        return InvalidGeometry(detail, element=element, where=where, advice=advice)


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
    _refuse_blunder(net, residuals, fitted)
    _refuse_weak(net, fitted)
    outline = tuple((snap_mm(x), snap_mm(y)) for x, y in fitted.spots)
    return outline, _report(net, outline, residuals)


def _net(level: str, corners: tuple[str, ...], tapes: tuple[Tape, ...], where: Where) -> _Net:
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
    net = _Net(level, corners, tapes, tuple(pairs), where)
    if len(numbers) < 3 or len(numbers) < len(corners):
        raise net.refusal(
            f"level {level} needs at least three corners with a name each",
            "Name every corner once, anticlockwise round the deck.",
        )
    return net


def _links(net: _Net) -> Mapping[int, Mapping[int, float]]:
    links: dict[int, dict[int, float]] = {corner: {} for corner in range(len(net.corners))}
    for (a, b), tape in zip(net.pairs, net.tapes, strict=True):
        links[a].setdefault(b, mm_of(tape.length_nm))
        links[b].setdefault(a, mm_of(tape.length_nm))
    return links


def _placed(net: _Net) -> Placing:
    links = _links(net)
    placing = place_corners(len(net.corners), links)
    if len(placing.spots) < len(net.corners):
        loose = [
            name for number, name in enumerate(net.corners) if number not in placing.spots
        ] or list(net.corners)
        missing = missing_tapes(len(net.corners), links)
        raise net.refusal(
            f"the tapes of level {net.level} do not fix corner{'s' * (len(loose) > 1)} "
            f"{', '.join(loose[:MOST_NAMED])}: each needs tapes to two corners that are fixed",
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


def _refuse_blunder(net: _Net, residuals: Sequence[TapeResidual], fitted: Adjustment) -> None:
    """Refuse tapes that contradict each other; name the one with the largest residual."""
    sizes = [abs(residual.standardised_nm or 0) for residual in residuals]
    excess = [
        size - closure_tolerance_nm(tape.length_nm)
        for size, tape in zip(sizes, net.tapes, strict=True)
    ]
    if max(excess) <= 0:
        return
    worst = max(range(len(sizes)), key=sizes.__getitem__)
    alike = [index for index, size in enumerate(sizes) if size >= (1 - ALIKE) * sizes[worst]]
    off_nm = residuals[worst].off_nm or 0
    if len(alike) == 1:
        tape = net.tapes[worst]
        raise net.refusal(
            f"tape {tape.name} of level {net.level} reads {mm_of(abs(off_nm)):.1f} mm "
            f"{'more' if off_nm > 0 else 'less'} than the other tapes say",
            f"Check {tape.name}: tape it again from {tape.start} to {tape.end}.",
            worst,
        )
    pairs = [net.pairs[index] for index in alike]
    off_nm = min((residuals[index].off_nm or 0 for index in alike), key=abs)
    further = _further_tape(net)
    raise net.refusal(
        f"the tapes of level {net.level} contradict each other by at least "
        f"{mm_of(abs(off_nm)):.1f} mm, "
        f"and too few of them check the others to say which of {net.named(pairs)} is wrong",
        f"Check {net.named(pairs)}" + (f", or tape {further} as well to find it." if further
                                       else ", or tape each of them twice."),
    )  # fmt: skip


def _further_tape(net: _Net) -> str:
    """Name a diagonal that was not taped, the one that leads farthest round the deck."""
    count = len(net.corners)
    taped = {frozenset(pair) for pair in net.pairs}
    free = [
        (min(b - a, count - b + a), -a, (a, b))
        for a in range(count)
        for b in range(a + 1, count)
        if frozenset((a, b)) not in taped
    ]
    return net.named([max(free)[2]]) if free else ""


def _refuse_weak(net: _Net, fitted: Adjustment) -> None:
    """Refuse a corner that the tapes hold too loosely, such as one in line with both ends."""
    weak = [corner for corner, size in enumerate(fitted.weakness) if size > WEAKEST]
    if not weak:
        return
    worst = max(weak, key=lambda corner: (_in_line(net, fitted, corner), -corner))
    (x, y), (dx, dy) = fitted.spots[worst], fitted.weak_towards[worst]
    taped = {frozenset(pair) for pair in net.pairs}

    def holds(corner: int) -> float:
        ax, ay = fitted.spots[corner][0] - x, fitted.spots[corner][1] - y
        return abs(ax * dx + ay * dy) / max(1e-9, math.hypot(ax, ay))

    free = [
        corner
        for corner in range(len(net.corners))
        if corner != worst and frozenset((corner, worst)) not in taped
    ]
    if free:
        advice = f"Tape {net.named([(worst, max(free, key=holds))])} as well."
    else:
        advice = "Leave it out if the edge is straight there, or tape it from a point off the line."
    raise net.refusal(
        f"corner {net.corners[worst]} of level {net.level} is hardly held: its tapes run almost "
        "in one line",
        advice,
    )


def _in_line(net: _Net, fitted: Adjustment, corner: int) -> float:
    """Tell how nearly the tapes of a corner run in one line: 1 if they do, 0 if all around."""
    spots, turns = fitted.spots, []
    for pair in net.pairs:
        if corner in pair:
            (ax, ay), (bx, by) = spots[pair[0]], spots[pair[1]]
            turns.append(cmath.exp(2j * math.atan2(by - ay, bx - ax)))
    return round(abs(sum(turns)) / len(turns), 9)


def _report(
    net: _Net, outline: Sequence[Point], residuals: tuple[TapeResidual, ...]
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

"""Tapes that contradict the others, and corners that tapes hardly hold."""

import cmath
import math
from collections.abc import Sequence

from service.domain.layout.survey_adjustment import Adjustment
from service.domain.layout.survey_net import Net
from service.domain.layout.survey_records import TapeResidual
from service.domain.layout.survey_sides import closure_tolerance_nm
from service.domain.lengths import mm_of

# Tapes whose standardised residuals differ by less than this part cannot be told apart.
ALIKE = 0.02
# A corner that an error in the tapes moves by more than this many times that error is not held:
# 1/16 in would become more than an inch (judgement, no standard).
WEAKEST = 16.0


def refuse_blunder(net: Net, residuals: Sequence[TapeResidual], fitted: Adjustment) -> None:
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


def _further_tape(net: Net) -> str:
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


def refuse_weak(net: Net, fitted: Adjustment) -> None:
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


def _in_line(net: Net, fitted: Adjustment, corner: int) -> float:
    """Tell how nearly the tapes of a corner run in one line: 1 if they do, 0 if all around."""
    spots, turns = fitted.spots, []
    for pair in net.pairs:
        if corner in pair:
            (ax, ay), (bx, by) = spots[pair[0]], spots[pair[1]]
            turns.append(cmath.exp(2j * math.atan2(by - ay, bx - ax)))
    return round(abs(sum(turns)) / len(turns), 9)

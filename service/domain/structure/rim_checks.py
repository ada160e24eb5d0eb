"""Posts on the side of a rim: what the rows of fasteners take, and whether the rim can roll."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from service.domain.lengths import mm_of
from service.domain.structure.checks import Check, CheckOutcome, Unit
from service.domain.structure.fastener_checks import Pull, worst_pull_checks
from service.domain.structure.fasteners import WET_BEARING
from service.domain.structure.judging import check, figure, missing_parts, open_check
from service.domain.structure.loads import Load
from service.domain.structure.post_checks import LoadedPosts, force_and_arm, names_of
from service.domain.structure.side_mount import (
    FREE_RIM_BOLTED_N,
    FREE_RIM_LAGGED_N,
    FREE_RIM_SOURCE,
    two_bolts,
)
from service.domain.structure.specification import FastenerKind, SideMount, StructureSpec


def rim_checks(posts: Sequence[LoadedPosts], spec: StructureSpec, load: Load) -> Iterator[Check]:
    """Check the upper row of a side-mounted post, and whether its rim is held."""
    names, side, timber = names_of(posts), spec.side_mount, spec.timber
    if side is None or timber is None:
        missing = missing_parts({
            "structure.side_mount: drop, spacing and fasteners": side,
            "structure.timber: the species of the rim": timber,
        })  # fmt: skip
        yield open_check("side mount", names, missing, load=load)
        return
    f_c = timber.species.f_c_perp_mpa
    bearing_mpa = f_c * (WET_BEARING if timber.wet else 1.0) if f_c else None
    pulls = []
    for one in posts:
        force, arm = force_and_arm(one, spec, load)
        couple = two_bolts(force, arm, mm_of(side.spacing_nm))
        note = (
            figure("a", "from the force down to the upper row", arm, Unit.LENGTH),
            figure("s", "between the rows", mm_of(side.spacing_nm), Unit.LENGTH),
            figure("C", "push of the lower row", couple.lower_compression_n, Unit.FORCE),
        )
        each = couple.upper_tension_n / side.per_row
        formula = "T = P (a + s) / (s n)"
        pulls.append(Pull(one.names, each, 0.0, mm_of(side.bracket_nm), load, formula, note))
    yield from worst_pull_checks(pulls, side.fastener, timber, bearing_mpa)
    yield _rim(names, side, load)


def _rim(names: Sequence[str], side: SideMount, load: Load) -> Check:
    """Say whether the rim can take a post at all; one that may roll fails far below the load."""
    name = "rim held against rotation"
    if side.rim_held is None:
        missing = "structure.side_mount.rim_held: whether the rim is held against rotation"
        return open_check(name, names, missing, load=load)
    if side.rim_held:
        given = ("Given in the request: the rim is tied to the neighbouring joists",)
        open_one = open_check(name, names, "", load=load, assumptions=given)
        return replace(open_one, outcome=CheckOutcome.OK, source=FREE_RIM_SOURCE)
    lagged = side.fastener.kind is FastenerKind.LAG
    failed = FREE_RIM_LAGGED_N if lagged else FREE_RIM_BOLTED_N
    return check(
        name,
        names,
        "tests of wood posts on a rim free to roll; 2.5 times 200 lb is the target",
        (),
        figure("P_test", "mean load at failure", failed, Unit.FORCE),
        figure("P_target", "2.5 times 200 lb", 2.5 * 200 * 4.4482216152605, Unit.FORCE),
        source=FREE_RIM_SOURCE,
        load=load,
        more_is_better=True,
        assumptions=("The tests were on 4x4 wood posts and a 2x8 rim of wet southern pine",),
    )

"""One fastener under a pull: withdrawal, steel, washer, distances; and the holes to drill."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import atan2, degrees, hypot

from service.domain.lengths import mm_of
from service.domain.structure.checks import Check, Figure, Unit
from service.domain.structure.fasteners import (
    LEAST_PENETRATION,
    Adjustments,
    Holes,
    combined_n,
    lag_withdrawal_n_per_mm,
    lead_hole_mm,
    penetration_mm,
    tension_n,
    thread_length_mm,
    washer_bearing_n,
    withdrawal_holds,
)
from service.domain.structure.judging import check, figure, open_check, recalled, worst_of
from service.domain.structure.loads import Load
from service.domain.structure.materials import LagThread
from service.domain.structure.specification import (
    Fastener,
    FastenerKind,
    StructureSpec,
    Timber,
)

WITHDRAWAL = (
    "NDS lag screw withdrawal, W = 1800 G^1.5 D^0.75 lb per inch of thread, and its adjustment "
    "factors"
)
STEEL = "0.75 F_u / 2 with F_u 60 ksi, from memory"
WET = "Wet service: C_M 0.7 on withdrawal, from memory"
NO_SHEAR = "The shear of the fasteners is not screened: no lateral value was given"
OUT_OF_RANGE = (
    "structure.fastener: withdrawal is known for screws of 1/4 to 1-1/4 in in timber of gravity "
    "0.31 to 0.73 only"
)
PULL_ALONE = "Its steel has an ultimate strength of at least 60 ksi; pull alone, without shear"
PREDRILLED = "Holes are drilled as the schedule says; side grain"


@dataclass(frozen=True, slots=True)
class Pull:
    """What one fastener takes.

    Attributes:
        names: Posts it belongs to.
        tension_n: Along the fastener. [N]
        shear_n: Square to it. [N]
        side_mm: Between its head and the holding timber; None if not known. [mm]
        formula: How the tension came about.
        inputs: Figures that belong to that formula.
    """

    names: tuple[str, ...]
    tension_n: float
    shear_n: float
    side_mm: float | None
    load: Load
    formula: str = "T from the compression block"
    inputs: tuple[Figure, ...] = ()


def pull_checks(
    pull: Pull, fastener: Fastener, timber: Timber, bearing_mpa: float | None
) -> Iterator[Check]:
    """Check one fastener by its kind.

    Args:
        pull: What it takes.
        fastener: What it is.
        timber: What it holds in.
        bearing_mpa: Adjusted bearing strength across the grain, None if not held. [MPa]
    """
    if fastener.kind is FastenerKind.RATED:
        yield _rated(pull, fastener)
    elif fastener.kind is FastenerKind.BOLT:
        yield _steel("bolt tension", pull, mm_of(fastener.diameter_nm))
        yield _washer(pull, fastener, bearing_mpa)
    elif fastener.thread is None:
        missing = "structure.fastener: root and tip of a thread of this diameter"
        yield open_check("lag screw withdrawal", pull.names, missing, load=pull.load)
    elif not withdrawal_holds(timber.species.gravity, mm_of(fastener.diameter_nm)):
        yield open_check("lag screw withdrawal", pull.names, OUT_OF_RANGE, load=pull.load)
    elif pull.side_mm is None:
        missing = "structure.timber.decking: thickness of the decking under the plate"
        yield open_check("lag screw withdrawal", pull.names, missing, load=pull.load)
    else:
        yield from _lag(pull, fastener, fastener.thread, pull.side_mm, timber)


def worst_pull_checks(
    pulls: Sequence[Pull], fastener: Fastener, timber: Timber, bearing_mpa: float | None
) -> Iterator[Check]:
    """Give the worst of each check on the fasteners."""
    found: dict[str, list[Check]] = {}
    for pull in pulls:
        for made in pull_checks(pull, fastener, timber, bearing_mpa):
            found.setdefault(made.name, []).append(made)
    for checks in found.values():
        yield worst_of(checks)


def _lag(
    pull: Pull, fastener: Fastener, thread: LagThread, side_mm: float, timber: Timber
) -> Iterator[Check]:
    diameter, length = mm_of(fastener.diameter_nm), mm_of(fastener.length_nm)
    threaded = mm_of(fastener.thread_nm) if fastener.thread_nm else thread_length_mm(length)
    held = penetration_mm(length, threaded, side_mm, thread.tip_mm)
    factors = Adjustments(duration=timber.duration)
    factors = factors if timber.wet else replace(factors, moisture=1.0)
    reference = lag_withdrawal_n_per_mm(timber.species.gravity, diameter)
    strength = reference * held * factors.product
    notes = (
        PREDRILLED,
        f"Load duration factor {timber.duration:g}",
        *((WET,) if timber.wet else ("Dry service: at most 19 % moisture",)),
        *recalled("the thread", thread.cited, {"tip", "root"}),
        *(() if fastener.lateral_n else (NO_SHEAR,)),
    )
    figures = (
        *pull.inputs,
        figure("G", f"gravity of {timber.species.name}", timber.species.gravity, Unit.NUMBER),
        figure("D", "diameter", diameter, Unit.LENGTH),
        figure("L", "length under the head", length, Unit.LENGTH),
        figure("thread", "thread with its tip", threaded, Unit.LENGTH),
        figure("side", "plate and decking, which hold nothing", side_mm, Unit.LENGTH),
        figure("tip", "tapered tip", thread.tip_mm, Unit.LENGTH),
        figure("p", "thread that holds, min(thread - tip, L - side - tip)", held, Unit.LENGTH),
        figure("W", "reference withdrawal per length", reference, Unit.LINE_LOAD),
        figure("C_D", "load duration", factors.duration, Unit.NUMBER),
        figure("C_M", "moisture in service", factors.moisture, Unit.NUMBER),
    )
    tension = figure("T", "tension of one screw", pull.tension_n, Unit.FORCE)
    yield check(
        "lag screw withdrawal", pull.names, f"{pull.formula}; W' = W C_D C_M p", figures, tension,
        figure("W'", "adjusted withdrawal", strength, Unit.FORCE),
        source=WITHDRAWAL, load=pull.load, assumptions=notes,
    )  # fmt: skip
    if pull.load.kind is not Unit.PRESSURE:  # once is enough: it does not depend on the load
        yield _penetration(pull, held, diameter, figures)
    yield _steel("lag screw root tension", pull, thread.root_mm)
    if fastener.lateral_n:
        yield _combined(pull, strength, fastener.lateral_n, fastener.rating)


def _penetration(pull: Pull, held: float, diameter: float, figures: tuple[Figure, ...]) -> Check:
    return check(
        "lag screw penetration",
        pull.names,
        "p >= 4 D",
        figures,
        figure("p", "thread that holds", held, Unit.LENGTH),
        figure("4 D", "least penetration, tip left out", LEAST_PENETRATION * diameter, Unit.LENGTH),
        source="NDS, as a frequent question to its publisher quotes it",
        load=pull.load,
        more_is_better=True,
        assumptions=(PREDRILLED,),
    )


def _combined(pull: Pull, strength: float, lateral: float, rating: str) -> Check:
    """Hold pull and shear together against the strength at their angle."""
    angle = degrees(atan2(pull.tension_n, pull.shear_n))
    return check(
        "lag screw, pull and shear together", pull.names,
        "R = sqrt(T^2 + V^2); Z' = W' Z / (W' cos^2 a + Z sin^2 a)",
        (
            figure("T", "tension of one screw", pull.tension_n, Unit.FORCE),
            figure("V", "shear of one screw", pull.shear_n, Unit.FORCE),
            figure("a", "angle of the load to the surface", angle, Unit.ANGLE),
            figure("W'", "adjusted withdrawal", strength, Unit.FORCE),
            figure("Z", "lateral strength as given", lateral, Unit.FORCE),
        ),
        figure("R", "load on one screw", hypot(pull.tension_n, pull.shear_n), Unit.FORCE),
        figure("Z'", "strength at the angle", combined_n(strength, lateral, angle), Unit.FORCE),
        source=f"NDS combined load, from memory; {rating or 'lateral value as given'}",
        load=pull.load,
        assumptions=("The lateral value as given holds for this timber and its moisture",),
    )  # fmt: skip


def _steel(name: str, pull: Pull, diameter_mm: float) -> Check:
    return check(
        name, pull.names, f"{pull.formula}; T_a = 0.75 F_u / 2 x pi d^2 / 4",
        (*pull.inputs, figure("d", "diameter of the steel", diameter_mm, Unit.LENGTH)),
        figure("T", "tension of one fastener", pull.tension_n, Unit.FORCE),
        figure("T_a", "allowable tension of its steel", tension_n(diameter_mm), Unit.FORCE),
        source=STEEL, load=pull.load, assumptions=(PULL_ALONE,),
    )  # fmt: skip


def _washer(pull: Pull, fastener: Fastener, bearing_mpa: float | None) -> Check:
    name = "washer on timber"
    if fastener.washer_nm is None or bearing_mpa is None:
        missing = "structure.fastener.washer, and a species whose bearing strength is held"
        return open_check(name, pull.names, missing, load=pull.load)
    washer, hole = mm_of(fastener.washer_nm), mm_of(fastener.diameter_nm)
    return check(
        name, pull.names, f"{pull.formula}; T_w = f_c pi (washer^2 - D^2) / 4",
        (
            *pull.inputs,
            figure("washer", "diameter of the washer", washer, Unit.LENGTH),
            figure("D", "diameter of the bolt", hole, Unit.LENGTH),
            figure("f_c", "bearing strength of the timber", bearing_mpa, Unit.STRESS),
        ),
        figure("T", "tension of one bolt", pull.tension_n, Unit.FORCE),
        figure("T_w", "what the timber bears", washer_bearing_n(washer, hole, bearing_mpa),
               Unit.FORCE),
        source="Statics; the factor for small bearing areas is left out", load=pull.load,
        assumptions=("The washer is stiff and round, on timber",),
    )  # fmt: skip


def _rated(pull: Pull, fastener: Fastener) -> Check:
    name = "rated fastener"
    if fastener.tension_n is None:
        missing = "structure.fastener.tension: the maker's allowable tension"
        return open_check(name, pull.names, missing, load=pull.load)
    return check(
        name, pull.names, f"{pull.formula}; T_a as its maker rates it", pull.inputs,
        figure("T", "tension of one fastener", pull.tension_n, Unit.FORCE),
        figure("T_a", "allowable tension", fastener.tension_n, Unit.FORCE),
        source=fastener.rating or "Rating as given in the request", load=pull.load,
        assumptions=("The rating holds for this timber, its moisture and these distances",),
    )  # fmt: skip


def hole_schedule(spec: StructureSpec) -> Holes | None:
    """Give the holes for the lag screws of a specification; None where it has none."""
    fastener = spec.fastener
    if fastener is None and spec.side_mount is not None:
        fastener = spec.side_mount.fastener
    if fastener is None or fastener.kind is not FastenerKind.LAG or spec.timber is None:
        return None
    return lead_hole_mm(spec.timber.species.gravity, mm_of(fastener.diameter_nm))

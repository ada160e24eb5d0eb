"""Screen a laid-out guard: every formula held against the loads of the code in force."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.domain.layout.deck import Footing
from service.domain.layout.records import Layout
from service.domain.structure.beyond import checks_beyond
from service.domain.structure.checks import Check
from service.domain.structure.distance_checks import distance_checks, rim_distance_checks
from service.domain.structure.fastener_checks import hole_schedule
from service.domain.structure.fasteners import Holes
from service.domain.structure.fixing_checks import fixing_checks
from service.domain.structure.infill_checks import cable_pulls, infill_checks
from service.domain.structure.judging import open_check
from service.domain.structure.loads import Load, LoadPlace, at_top
from service.domain.structure.members import TEST_FACTOR
from service.domain.structure.post_checks import FASCIA, loaded_posts, names_of, post_checks
from service.domain.structure.rail_checks import rail_checks, rail_spans
from service.domain.structure.specification import StructureSpec
from service.domain.structure.wind_load import NO_COEFFICIENT, wind_load

NO_TIMBER = (Footing.SLAB, Footing.GRADE)


@dataclass(frozen=True, slots=True)
class Screening:
    """What a screening comes to.

    Attributes:
        spec: What it was made with; its settings are printed.
        loads: What it was made for, wind among them.
        checks: In the order posts, fixings, rails, infill, what no formula reaches.
        holes: To drill for lag screws; None where there are none.
        test_factor: Of the loads, by which the system is proved in tests.
    """

    spec: StructureSpec
    loads: tuple[Load, ...]
    checks: tuple[Check, ...]
    holes: Holes | None
    test_factor: float = TEST_FACTOR


def screen(layout: Layout, spec: StructureSpec, loads: Iterable[Load]) -> tuple[Check, ...]:
    """Hold posts, fixings, rails and infill against the loads.

    Args:
        layout: What is to be built.
        spec: What it is made of and fixed with; what is missing is not assessed.
        loads: Of the clauses that bind this deck, and any wind.

    Returns:
        For each kind of check and each group of elements the worst case, with all elements named.
    """
    return tuple(_screen(layout, spec, tuple(loads)))


def _screen(layout: Layout, spec: StructureSpec, loads: tuple[Load, ...]) -> Iterator[Check]:
    groups = loaded_posts(layout)
    top = {stair: at_top(loads, stair=stair) for stair in (False, True)}
    yield from post_checks(groups, spec, top)
    yield from fixing_checks(layout, groups, spec, top)
    for (surface, stair), posts in groups.items():
        if surface == FASCIA:
            yield from rim_distance_checks(layout, posts, spec.side_mount, top[stair])
        elif surface not in NO_TIMBER:
            yield from distance_checks(layout, names_of(posts), spec, top[stair])
    downward = tuple(load for load in loads if load.place is LoadPlace.DOWNWARD)
    on_rails = {stair: (*found, *downward) for stair, found in top.items()}
    yield from rail_checks(rail_spans(layout), spec, on_rails)
    yield from infill_checks(layout, spec, loads)
    yield from cable_pulls(layout, top[False])
    yield from checks_beyond(layout, loads)


def screen_guard(layout: Layout, spec: StructureSpec, loads: Iterable[Load]) -> Screening:
    """Screen a layout for the loads of the code and the wind of the specification."""
    asked = tuple(loads)
    unknown: tuple[Check, ...] = ()
    if spec.wind is not None:
        wind = wind_load(layout, spec.wind)
        if wind is None:
            sections = [section.name for section in layout.sections]
            unknown = (open_check("wind", sections, NO_COEFFICIENT),)
        else:
            asked = (*asked, wind)
    return Screening(spec, asked, (*screen(layout, spec, asked), *unknown), hole_schedule(spec))

"""A check of the structure that is over, and what changes of a specification share."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from service.domain.lengths import INCH, MILLIMETRE, inches, mm_of
from service.domain.structure.specification import StructureSpec
from service.usecases.remedy import Job, Remedy

FINE_NM = (INCH // 32, MILLIMETRE // 2)
QUARTER_NM = (INCH // 4, 5 * MILLIMETRE)
HALF_NM = (INCH // 2, 10 * MILLIMETRE)
SPAN_NM = (INCH, 25 * MILLIMETRE)
LARGEST_NM = inches(12)  # of posts and plates that are tried


@dataclass(frozen=True, slots=True)
class Weakness:
    """A check that is over, as far as its cure depends on it.

    Attributes:
        name: Of the check.
        on_rim: Whether its posts are fixed to the side of a rim.
        on_stair: Whether its elements belong to a stair.
        spread: Whether its load is spread along the guard, so that closer posts take less.
    """

    name: str
    on_rim: bool
    on_stair: bool
    spread: bool


Cure = Callable[[Job, Weakness], Iterator[Remedy]]


def spec_of(job: Job) -> StructureSpec:
    """Give the specification of a job that has one."""
    assert job.spec is not None  # noqa: S101 - without one there is no check to cure
    return job.spec


def with_spec(job: Job, **changes: Any) -> Job:
    """Change the specification of a job."""
    return replace(job, spec=replace(spec_of(job), **changes))


def fine(length_nm: int) -> str:
    """Print a length finer than a tape shows.

    Example:
        >>> fine(3_175_000)
        '0.125 in (3.175 mm)'
    """
    return f"{mm_of(length_nm) / 25.4:.4g} in ({mm_of(length_nm):.4g} mm)"

"""Looking on at a job: the port by which stages are timed and counted outside."""

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from typing import Protocol

from service.domain.cutting.plan import CutPlan


class Watch(Protocol):
    """Looks on while a job passes its stages; the clock is its own."""

    def stage(self, name: str) -> AbstractContextManager[None]:
        """Tell that a stage begins, and at the end of the block that it ends."""
        ...

    def quoted(self, plans: Sequence[CutPlan]) -> None:
        """Tell that a quote is kept, with its cut plans."""
        ...


class Unwatched:
    """Nobody looks on."""

    def stage(self, name: str) -> AbstractContextManager[None]:
        """Tell nobody."""
        return _NOTHING

    def quoted(self, plans: Sequence[CutPlan]) -> None:
        """Tell nobody."""


_NOTHING = nullcontext()
UNWATCHED = Unwatched()

"""What the cutting engine asks of a linear and integer solver."""

from typing import Protocol


class MasterSolver(Protocol):
    """Solves the master problem of cutting: choose patterns so that every piece is cut."""

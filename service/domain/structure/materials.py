"""Alloys, timber species and lag screws as data, with what of them is from memory."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Cited:
    """Where the values of one row come from.

    Attributes:
        source: Titles and addresses of what was read; "" if all is from memory.
        from_memory: Names of the values that were read nowhere, to be confirmed against print.
    """

    source: str
    from_memory: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Alloy:
    """An aluminium alloy and temper, extruded.

    Attributes:
        e_mpa: Modulus of elasticity. [MPa]
        f_ty_mpa, f_tu_mpa: Least tensile yield and ultimate strength. [MPa]
        welded_f_ty_mpa, welded_f_tu_mpa: The same within 1 in of a weld; None if not held. [MPa]
    """

    name: str
    e_mpa: float
    f_ty_mpa: float
    f_tu_mpa: float
    welded_f_ty_mpa: float | None
    welded_f_tu_mpa: float | None
    cited: Cited


@dataclass(frozen=True, slots=True)
class Species:
    """A timber species or group of species as graded.

    Attributes:
        gravity: Specific gravity on oven-dry weight and oven-dry volume, the basis of NDS.
        f_c_perp_mpa: Reference bearing strength across the grain; None if not held. [MPa]
    """

    name: str
    gravity: float
    f_c_perp_mpa: float | None
    cited: Cited


@dataclass(frozen=True, slots=True)
class LagThread:
    """What a lag screw's diameter says of its thread.

    Attributes:
        root_mm: Diameter at the root of the thread. [mm]
        tip_mm: Length of the tapered tip, which holds nothing. [mm]
    """

    diameter_mm: float
    root_mm: float
    tip_mm: float
    cited: Cited


@dataclass(frozen=True, slots=True)
class Materials:
    """Everything held, by name; lag threads by diameter in nanometres."""

    alloys: Mapping[str, Alloy] = field(default_factory=dict)
    species: Mapping[str, Species] = field(default_factory=dict)
    lag_threads: Mapping[int, LagThread] = field(default_factory=dict)

"""Clauses of building codes from YAML files, and which of them are in force where and when.

``data/codes/<code>/<edition>.yaml`` holds one edition, or an overlay that binds beside another
code; ``data/adoptions/<place>.yaml`` says which of them a place has adopted from which day, and how
it amended them. Every file is read when the library is opened, so that a bad one stops the start.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from service.adapters.code_adoptions import Adoption, InForce, read_adoption
from service.adapters.code_amendments import amend
from service.adapters.code_files import EditionFile, EditionKey, load_yaml, read_edition
from service.adapters.data_files import (
    CodeFileError,
)
from service.domain.compliance.findings import Amendment, Clause
from service.domain.compliance.measurement import Measure
from service.domain.compliance.measures import MEASURES
from service.domain.errors import CodeNotFound, UnknownCode
from service.usecases.ports import EditionHeld, PeriodHeld, PlaceHeld

DATA = Path(__file__).parent.parent / "data"


@dataclass(frozen=True, slots=True)
class CodeLibrary:
    """Every clause held, by edition and by place.

    Attributes:
        held: Editions by code and edition, in the order of their files.
        places: What each place adopted, by its name in lower case.
    """

    held: Mapping[EditionKey, EditionFile]
    places: Mapping[str, Adoption]

    @property
    def names(self) -> tuple[str, ...]:
        """Places as their files print them."""
        return tuple(adoption.place for adoption in self.places.values())

    def editions(self) -> tuple[EditionKey, ...]:
        """Give code and edition of everything held."""
        return tuple(self.held)

    def clauses(self, code: str, edition: str) -> tuple[Clause, ...]:
        """Give the clauses of one edition, in the order of its file.

        Raises:
            UnknownCode: No such code and edition is held.
        """
        held = self.held.get((code.upper(), edition))
        if held is None:
            raise UnknownCode(
                f"No file holds the code {code} {edition}.",
                where=("code",),
                advice=f"Held are: {self._listed()}.",
            )
        return held.clauses

    def _listed(self) -> str:
        return ", ".join(f"{code} {edition}" for code, edition in self.held)

    def amended(
        self, clauses: Sequence[Clause], amendments: Sequence[Amendment]
    ) -> tuple[Clause, ...]:
        """Apply a caller's amendments.

        Raises:
            InvalidAmendment: An amendment does not fit the clauses.
        """
        return amend(clauses, amendments)

    def editions_held(self) -> tuple[EditionHeld, ...]:
        """Give everything held, in the order of the files."""
        return tuple(_described(held) for held in self.held.values())

    def edition(self, code: str, edition: str) -> EditionHeld:
        """Give one edition.

        Raises:
            CodeNotFound: No such code and edition is held.
        """
        held = self.held.get((code.upper(), edition))
        if held is None:
            raise CodeNotFound(
                f"No file holds the code {code} {edition}.", advice=f"Held are: {self._listed()}."
            )
        return _described(held)

    def places_held(self) -> tuple[PlaceHeld, ...]:
        """Give every place held, by name."""
        return tuple(
            PlaceHeld(
                adoption.place,
                adoption.invented,
                adoption.note,
                tuple(_period(period) for period in adoption.periods),
            )
            for adoption in self.places.values()
        )

    def in_force(self, place: str, on: date) -> tuple[Clause, ...]:
        """Give the clauses in force in a place on a day, as the place amended them.

        Raises:
            UnknownCode: The place is not held, or nothing was in force there yet.
        """
        adoption = self.places.get(place.strip().lower())
        if adoption is None:
            raise UnknownCode(
                f"No file says which code is in force in {place}.",
                where=("code", "place"),
                advice=f"Name a code and edition, or one of: {', '.join(self.names)}.",
            )
        periods = adoption.periods
        past = [period for period in periods if period.since <= on]
        if not past:
            raise UnknownCode(
                f"Nothing held was in force in {place} on {on.isoformat()}.",
                where=("code", "place"),
                advice=f"The earliest day held is {periods[0].since.isoformat()}.",
            )
        return past[-1].clauses


def open_library(data: Path = DATA, measures: Mapping[str, Measure] = MEASURES) -> CodeLibrary:
    """Read every file of clauses and adoptions.

    Args:
        data: Directory that holds ``codes`` and ``adoptions``.
        measures: Ways of measuring that a clause may name.

    Raises:
        CodeFileError: A file holds something that is not understood; it names file and key.
    """
    held: dict[EditionKey, EditionFile] = {}
    for path in sorted((data / "codes").glob("*/*.yaml")):
        edition = read_edition(path, path.relative_to(data).as_posix(), measures)
        held[edition.code, edition.edition] = edition
    if not held:
        raise CodeFileError(f"{data / 'codes'}: holds no codes")
    places: dict[str, Adoption] = {}
    for path in sorted((data / "adoptions").glob("*.yaml")):
        where = path.relative_to(data).as_posix()
        adoption = read_adoption(load_yaml(path, where), where, held, measures)
        if adoption.place.lower() in places:
            raise CodeFileError(f"{where}: {adoption.place} is already held by another file")
        places[adoption.place.lower()] = adoption
    return CodeLibrary(held, places)


def _described(held: EditionFile) -> EditionHeld:
    return EditionHeld(
        held.code,
        held.edition,
        held.title,
        held.overlay,
        held.note,
        tuple(held.sources.values()),
        held.clauses,
    )


def _period(period: InForce) -> PeriodHeld:
    amended = tuple(
        (clause.key, clause.amended, clause.from_memory)
        for clause in period.clauses
        if clause.amended
    )
    return PeriodHeld(period.since, period.codes, amended, period.source, period.from_memory)

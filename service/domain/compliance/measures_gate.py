"""Measures of how gates shut, for the barriers of pools: closer, latch and its release."""

from collections.abc import Iterator

from service.domain.compliance.inspection import Attribute, Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.compliance.site import GateFacts, ReleaseSide
from service.domain.layout.deck import OpeningKind

GATE_ATTRIBUTES = frozenset({"release_side", "release_height"})
NOTHING_SAID = GateFacts()
_NO_RELEASE = "Where its latch is released is not described."


def gates_shutting(seen: Inspection) -> Iterator[Measurement]:
    """See whether each gate opens away from the pool, closes and latches by itself."""
    for name, facts in _gates(seen):
        said = {
            "opens away from the pool": facts.opens_from_pool,
            "closes by itself": facts.closes,
            "latches by itself": facts.latches,
        }
        fails = [words for words, answer in said.items() if answer is False]
        unsaid = [words for words, answer in said.items() if answer is None]
        if fails:
            yield _taken(name, facts, 0, f"Not so that it {' and '.join(fails)}.")
        elif unsaid:
            yield _taken(name, facts, None, f"Whether it {' and '.join(unsaid)} is not described.")
        else:
            yield _taken(name, facts, 1, "As described.")


def release_heights(seen: Inspection) -> Iterator[Measurement]:
    """Give the height of each latch's release above the bottom of its gate."""
    for name, facts in _gates(seen):
        yield _taken(name, facts, facts.release_nm, "" if facts.release_nm else _NO_RELEASE)


def release_openings(seen: Inspection) -> Iterator[Measurement]:
    """Give the largest opening within 18 in of each latch's release."""
    for name, facts in _gates(seen):
        unsaid = "The openings beside the release of its latch are not described."
        yield _taken(name, facts, facts.opening_nm, "" if facts.opening_nm is not None else unsaid)


def releases_below_top(seen: Inspection) -> Iterator[Measurement]:
    """Measure how far below the top of its gate each latch is released."""
    leaves = {gate.name: gate.leaf_height_nm for gate in seen.layout.gates}
    for name, facts in _gates(seen):
        leaf_nm = leaves.get(name)
        if facts.release_nm is None:
            yield _taken(name, facts, None, _NO_RELEASE)
        elif leaf_nm is None:
            yield _taken(name, facts, None, "How high its leaf is is not described.")
        else:
            yield _taken(name, facts, leaf_nm - facts.release_nm, "Leaf less release.")


def _gates(seen: Inspection) -> Iterator[tuple[str, GateFacts]]:
    for _level, edge, _name in seen.open_edges:
        for opening in edge.openings:
            if opening.kind is OpeningKind.GATE:
                yield opening.name, seen.site.gates.get(opening.name, NOTHING_SAID)


def _taken(name: str, facts: GateFacts, value: int | None, note: str) -> Measurement:
    side: ReleaseSide | None = facts.release_side
    attributes: dict[str, Attribute] = {"release_side": side, "release_height": facts.release_nm}
    return Measurement(name, value, attributes, note)

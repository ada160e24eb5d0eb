"""What carries the code's loads and no formula here reaches: it stays open, and says so."""

from collections.abc import Iterator, Sequence

from service.domain.layout.deck import OpeningKind
from service.domain.layout.records import Layout, PostPosition
from service.domain.structure.checks import Check
from service.domain.structure.judging import open_check
from service.domain.structure.loads import Load, LoadPlace

HANDRAILS = "Handrails on brackets: rail, brackets and their fixing come from the test report"
GATES = "Gates: leaf, hinges and latch come from their maker's test report"
EXISTING = "Existing posts: what they are and how they are fixed is not described"


def checks_beyond(layout: Layout, loads: Sequence[Load]) -> Iterator[Check]:
    """Leave open, for each load that reaches them, handrails on brackets, gates, existing posts.

    Args:
        layout: What is to be built.
        loads: Of the clauses that bind this deck.
    """
    handrails = [handrail.name for handrail in layout.handrails]
    gates = [
        opening.name
        for level in layout.deck.levels
        for edge in level.edges
        for opening in edge.openings
        if opening.kind is OpeningKind.GATE
    ]
    existing = [post.name for post in layout.posts if post.position is PostPosition.EXISTING]
    apart = {_edition(load) for load in loads if load.place is LoadPlace.HANDRAIL}
    for load in loads:
        if not load.clauses:
            continue
        at_top = load.place is LoadPlace.TOP
        # A code without a load of its own for handrails holds them to that of guards.
        on_handrails = load.place is LoadPlace.HANDRAIL or (at_top and _edition(load) not in apart)
        if handrails and on_handrails:
            yield open_check("handrails on brackets", handrails, HANDRAILS, load=load)
        if gates and load.place is not LoadPlace.HANDRAIL:
            yield open_check("gates", gates, GATES, load=load)
        if existing and load.place is not LoadPlace.INFILL:
            yield open_check("existing posts", existing, EXISTING, load=load)


def _edition(load: Load) -> str:
    """Give code and edition of a load; its clauses are named "code edition key"."""
    return load.clauses[0].rpartition(" ")[0] if load.clauses else ""

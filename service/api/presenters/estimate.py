"""An estimate as a visitor of a dealer's web site sees it."""

from service.api.presenters.cautions import STANDING
from service.api.presenters.plain_findings import plain_findings
from service.api.presenters.quote import present_terms
from service.api.presenters.quote_money import present_totals
from service.api.presenters.values import Json, decimal, length, length_or_none, money
from service.domain.layout.deck import OpeningKind
from service.domain.layout.records import Layout, PostPosition
from service.domain.pricing.lines import Line
from service.spoken_lengths import all_in_units
from service.usecases.orders import Units
from service.usecases.quote_railing import Quote


def present_estimate(quote: Quote, drawing: bytes) -> Json:
    """Give prices, findings in plain words and a plan; no costs, unit prices or SKUs."""
    units, layout = quote.order.units, quote.layout
    new = [post for post in layout.posts if post.position is not PostPosition.EXISTING]
    return {
        "units": units.value,
        "on": quote.receipt.on.isoformat(),
        "system": layout.system.name,
        "railing": {
            "length": length(sum(run.length_nm for run in layout.runs), units),
            "posts": len(new),
            "sections": len(layout.sections),
            "stairs": len(layout.stairs),
        },
        "totals": present_totals(quote.totals),
        "terms": present_terms(quote.order.pricing),
        "conditions": [*quote.priced.conditions, *_unsized_gates(quote.layout)],
        "lines": [_line(line, units) for line in quote.lines],
        "findings": plain_findings(quote.findings, units),
        "notes": all_in_units(layout.notes, units),
        "drawing": drawing.decode(),
        "cautions": list(STANDING),
    }


def _unsized_gates(layout: Layout) -> list[str]:
    """Say of each gate that the railing system knows none, so that no price holds it."""
    sized = {gate.name for gate in layout.gates}
    return [
        f"{opening.name} is left open: this railing system describes no gates, so that the price "
        "holds none."
        for level in layout.deck.levels
        for edge in level.edges
        for opening in edge.openings
        if opening.kind is OpeningKind.GATE and opening.name not in sized
    ]


def _line(line: Line, units: Units) -> Json:
    return {
        "number": line.number,
        "kind": line.kind,
        "description": line.description,
        "length": length_or_none(line.length_nm, units),
        "quantity": decimal(line.quantity),
        "unit_of_measure": line.unit_of_measure,
        "net": money(line.net),
    }

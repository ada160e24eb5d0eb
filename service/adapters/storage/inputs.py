"""What a quote was made from besides its request, as it is kept: JSON."""

from datetime import date
from decimal import Decimal

import orjson

from service.domain.cutting.offcuts import Offcut
from service.usecases.ports import Inputs


def write_inputs(inputs: Inputs) -> str:
    """Give the text that is kept; decimals are text, so that they come back exact."""
    offcuts = [
        [o.name, o.sku, o.length_nm, o.first_picket_nm, str(o.value)] for o in inputs.offcuts
    ]
    on = inputs.on.isoformat() if inputs.on else None
    kept = {"on": on, "offcuts": offcuts, "stored": [list(one) for one in inputs.stored]}
    return orjson.dumps(kept).decode()


def read_inputs(text: str) -> Inputs:
    """Read what was kept; quotes from before it was have nothing."""
    kept = orjson.loads(text)
    return Inputs(
        on=date.fromisoformat(kept["on"]) if kept.get("on") else None,
        offcuts=tuple(
            Offcut(name, sku, length_nm, first_picket_nm, Decimal(value), stored=True)
            for name, sku, length_nm, first_picket_nm, value in kept.get("offcuts", [])
        ),
        stored=tuple((kind, which, version) for kind, which, version in kept.get("stored", [])),
    )

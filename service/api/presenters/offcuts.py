"""Offcuts on hand, and where a quote stands, as plain dicts."""

from datetime import date

from service.api.presenters.values import Json, decimal, length, length_or_none, money
from service.domain.cutting.offcuts import Offcut
from service.domain.pricing.life import QuoteLife, state_on
from service.usecases.orders import Units
from service.usecases.ports import Kept, StoredOffcut


def present_used(offcut: Offcut, units: Units) -> Json:
    """Give an offcut that a cut plan uses."""
    return {
        "name": offcut.name,
        "sku": offcut.sku,
        "length": length(offcut.length_nm, units),
        "first_picket": length_or_none(offcut.first_picket_nm, units),
        "stored": offcut.stored,
    }


def present_offcut(offcut: StoredOffcut, units: Units) -> Json:
    """Give an offcut on the shelf."""
    held = "reserved" if offcut.held_by else "available"
    return {
        "id": offcut.id,
        "sku": offcut.sku,
        "length": length(offcut.length_nm, units),
        "first_picket": length_or_none(offcut.first_picket_nm, units),
        "value": decimal(offcut.value),
        "note": offcut.note,
        "state": "used" if offcut.used else held,
        "held_by": offcut.held_by or None,
        "from_quote": offcut.from_quote or None,
    }


def present_life(life: QuoteLife, day: date) -> Json:
    """Give where a quote stands on a day."""
    return {
        "quote": life.quote_id,
        "state": state_on(life, day).value,
        "valid_until": life.valid_until.isoformat() if life.valid_until else None,
        "version": life.version,
        "sawn": life.sawn,
        "remnants_kept": life.remnants_kept,
        "series": life.series,
        "revision": life.revision,
        "replaced_by": life.replaced_by or None,
    }


def present_kept(kept: Kept, day: date) -> Json:
    """Give a quote in a list."""
    here = f"/v1/quotes/{kept.life.quote_id}"
    return {
        "id": kept.life.quote_id,
        "reference": kept.reference,
        "outside_reference": kept.outside_reference,
        "customer": kept.customer_name,
        "created_at": kept.created_at.isoformat(timespec="seconds"),
        "gross": money(kept.total),
        "state": present_life(kept.life, day),
        "links": {"self": here, "state": f"{here}/state"},
    }

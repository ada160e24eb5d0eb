"""What is looked at when a guard stands, and how it is cared for.

Common practice, no source: what a code or the system's maker asks for beyond it stands in the
code report and in the maker's instructions, which come first.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.element_names import named_in_rows

Json = Mapping[str, Any]


def checks(layout: Json, heights: Mapping[str, str]) -> Iterator[str]:
    """Give what is to be ticked at the end, with the lengths it is held against.

    Args:
        layout: The layout as it was answered.
        heights: Printed "guard", "stair", "gap" and "stair gap", as the system has them.
    """
    flat = [section["name"] for section in layout["sections"] if not section["rake"]]
    raked = [section["name"] for section in layout["sections"] if section["rake"]]
    posts = [post["name"] for post in layout["posts"] if post["stock"]]
    yield f"Posts plumb both ways and firm under a hard push: {_all(posts)}."
    if flat:
        yield f"Top of guard {heights['guard']} above the walking surface: {_all(flat)}."
        yield f"Gap under the bottom rail {heights['gap']}: {_all(flat)}."
    if raked:
        yield f"Top of stair guard {heights['stair']} plumb above the nosings: {_all(raked)}."
        yield f"Gap between nosings and bottom rail {heights['stair gap']}: {_all(raked)}."
    yield from _openings(layout["clear_openings"])
    yield "Every joint of rail and post closed and screwed; no rail turns or slides."
    yield "Every fastener of the schedule in place, with its washer, none turning freely."
    legs = sum(len(section["support_legs"]) for section in layout["sections"])
    if legs:
        yield f"Support legs standing on deck or tread and fixed: {legs}."
    yield from _particular(layout)
    yield "Caps and covers on, sealant where it is asked for, finish touched up."
    yield "Swarf, offcuts and packaging removed; deck swept and looked over for scratches."


def _all(names: Sequence[str]) -> str:
    return f"{named_in_rows(names, 12)} ({len(names)} in all)"


def _openings(openings: Sequence[Json]) -> Iterator[str]:
    """Give the largest opening on the level and on stairs, as laid out."""
    for on_stair, where in ((False, "on the level"), (True, "on stairs")):
        found = [opening for opening in openings if opening["on_stair"] is on_stair]
        if found:
            widest = max(found, key=lambda opening: opening["clear"]["mm"])
            yield (
                f"No clear opening {where} larger than laid out, {widest['clear']['text']} "
                f"({widest['place']}, {widest['element']}), measured at the widest."
            )


def _particular(layout: Json) -> Iterator[str]:
    removed = [s["name"] for s in layout["sections"] if s["pickets"]["removed"]]
    if removed:
        yield f"Pickets left out only where a line post stands: {_all(removed)}."
    if layout["blocks"]:
        yield f"Blocking in place and fixed: {_all([block['name'] for block in layout['blocks']])}."
    if layout["cables"]:
        yield "Cables tensioned to the maker's figure in the maker's order, ends locked and capped."
    if any((s["infill"] or {}).get("kind") == "glass" for s in layout["sections"]):
        yield "Glass free of chips, its mark readable, gaskets seated, clamps tight."
    for gate in layout["gates"]:
        yield f"Gate {gate['name']} swings {gate['swing']}, clears the ground and latches."
    for rail in layout["handrails"]:
        yield (
            f"Handrail {rail['name']} {rail['height']['text']} above the nosings, "
            f"{rail['clearance']['text']} clear, continuous to its ends."
        )


def care(layout: Json) -> Iterator[str]:
    """Give what keeps the guard as it was handed over."""
    yield "The maker's care instructions come first; keep them with these sheets."
    yield "Wash with clean water and mild soap, more often near the sea; no abrasives, no solvents."
    yield "Touch up scratches soon, and keep de-icing salt and cement off the finish."
    yield "Once a year push every post, look at each fastener, and tighten what is loose."
    if layout["cables"]:
        yield "Look at the cables' tension after the first months and then once a year."
    if layout["gates"]:
        yield "Oil hinges and latches once a year and set the latch where it no longer catches."
    yield "Hang or lean nothing on the guard that it was not laid out to carry."

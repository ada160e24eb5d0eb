"""What a quote's text says of the layout itself: counts, gates, handrails, blocks, surveys.

A stored quote may be older than some of these; what its layout does not have is left out.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from service.adapters.documents.columns import heading, paragraph

Json = Mapping[str, Any]

_TAPED = {"tapes": "sides and diagonals", "sides": "sides and turns"}
_FLIGHT = re.compile(r" flight [0-9]+$")  # of a stair with landings, by its number
_MOST_NAMES = 12  # of blocks or posts told one by one


def counted(layout: Json) -> str:
    """Count what the deck takes, in words."""
    counts = [
        (len(layout["posts"]), "post"),
        (len(layout["sections"]), "section"),
        *_infill(layout),
    ]
    stairs = {_FLIGHT.sub("", stair["name"]) for stair in layout["stairs"]}
    if stairs:
        counts.append((len(stairs), "stair"))
    for key in ("gates", "handrails", "blocks"):
        if layout.get(key):
            counts.append((len(layout[key]), key.removesuffix("s")))
    return ", ".join(some(count, name) for count, name in counts)


def some(count: int, name: str) -> str:
    """Count things by their name.

    Example:
        >>> some(1, "post"), some(2, "post")
        ('1 post', '2 posts')
    """
    return f"{count} {name}" if count == 1 else f"{count} {name}s"


def _infill(layout: Json) -> Iterator[tuple[int, str]]:
    """Count what fills the guard; a stored quote may be older than other infill than pickets."""
    rows = [row for section in layout["sections"] if (row := section.get("infill"))]
    if layout.get("cables"):
        yield sum(run["count"] for run in layout["cables"]), "cable"
    elif rows and rows[0]["kind"] == "glass":
        yield sum(len(row["panels"]) for row in rows), "panel"
    elif rows:
        yield sum(len(row["rails"]) for row in rows), "infill rail"
    else:
        yield sum(section["pickets"]["count"] for section in layout["sections"]), "picket"


def layout_lines(layout: Json) -> Iterator[str]:
    """Tell gates, handrails, blocks and how well the tapes agree, each under a heading."""
    parts = (
        ("GATES", map(_gate, layout.get("gates", ()))),
        ("HANDRAILS", map(_handrail, layout.get("handrails", ()))),
        ("BLOCKING", _blocks(layout)),
        ("SURVEY", map(_survey, layout.get("surveys", ()))),
    )
    for title, sentences in parts:
        told = list(sentences)
        if told:
            yield from heading(title)
        for sentence in told:
            yield from paragraph(sentence, 4, "  - ")


def _gate(gate: Json) -> str:
    size = f"{gate['leaf_width']['text']} wide, {gate['leaf_height']['text']} high"
    return (
        f"{gate['name']}, level {gate['level']}, edge {gate['edge']}: leaf {size}, in an opening "
        f"of {gate['opening']['text']}. Walking out it hangs on the {gate['hinge']}, on "
        f"{gate['hinge_post']}, latches at {gate['latch_post']} and swings {gate['swing']}."
    )


def _handrail(rail: Json) -> str:
    pieces = ", ".join(piece["text"] for piece in rail["pieces"])
    ends = "returned" if rail["returns"] else "not returned"
    return (
        f"{rail['name']}, {rail['stair']}, {rail['side']} side, on the {rail['mount']}: "
        f"{rail['height']['text']} over the nosing line; pieces {pieces}; "
        f"{some(len(rail['brackets']), 'bracket')}; ends {ends}."
    )


def _blocks(layout: Json) -> Iterator[str]:
    """Tell blocks of one size together."""
    sizes: dict[str, list[Json]] = {}
    for block in layout.get("blocks", ()):
        sizes.setdefault(_size(block), []).append(block)
    for size, blocks in sizes.items():
        names = _listed([block["name"] for block in blocks])
        posts = _listed([post for block in blocks for post in block["posts"]])
        yield f"{some(len(blocks), 'block')} {size}: {names}, under {posts}."


def _size(block: Json) -> str:
    section = ""
    if block["thickness"]:
        section = f", {block['thickness']['text']} by {block['depth']['text']}"
    plies = f", {block['plies']} plies" if block["plies"] > 1 else ""
    turned = " and ".join(f"{end:g}°" for end in block["ends_deg"] if end)
    return f"{block['length']['text']} long{section}{plies}{f', cut {turned}' if turned else ''}"


def _listed(names: list[str]) -> str:
    names = list(dict.fromkeys(names))
    more = len(names) - _MOST_NAMES
    if more > 1:
        return f"{', '.join(names[:_MOST_NAMES])} and {more} more"
    return ", ".join(names)


def _survey(survey: Json) -> str:
    told = f"Level {survey['level']}, by {_TAPED.get(survey['method'], survey['method'])}"
    misclosure = survey["misclosure"]
    if misclosure is None:
        return f"{told}: nothing checks the tapes."
    told += f": misclosure {_small(misclosure)}"
    if survey["precision"]:
        told += f", 1 in {survey['precision']}"
    checked = [residual for residual in survey["residuals"] if residual["off"]]
    if checked:
        worst = max(checked, key=lambda residual: abs(residual["standardised"]["mm"]))
        told += f"; tape {worst['tape']} is off most, by {_small(worst['off'])}"
    return told + "."


def _small(length: Json) -> str:
    """Print a length without its sign, and one that rounds to nothing as what it is."""
    if length["text"] == '0"' and length["mm"]:
        return 'under 1/16"'
    return str(length["text"]).removeprefix("-").removeprefix("\u2212")

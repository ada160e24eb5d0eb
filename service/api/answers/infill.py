"""Cables, glass and infill rails of the layout."""

from service.api.answers.words import (
    FLAG,
    NUMBER,
    TEXT,
    WHOLE,
    decimal,
    many,
    one_of,
    record,
    ref,
    said,
    text,
    titled,
)

LENGTH = ref("PrintedLength")
_HEIGHTS = many(
    LENGTH, "Centres above the walking surface, on a stair plumb above the nosing line."
)
_GAPS = many(LENGTH, "Clear gaps from the bottom rail up, square to the infill, at rest.")

_KINDS = {"cables": ref("CableRow"), "glass": ref("PanelRow"), "rails": ref("RailRow")}

INFILL = {
    "Infill": {
        "description": "What fills a section that has no pickets.",
        "oneOf": list(_KINDS.values()),
        "discriminator": {
            "propertyName": "kind",
            "mapping": {kind: row["$ref"] for kind, row in _KINDS.items()},
        },
    },
    "CableRow": record(
        "The cables as they pass a section.",
        kind=one_of(("cables",)),
        diameter=LENGTH,
        heights=_HEIGHTS,
        gaps=_GAPS,
        spreaders=many(LENGTH, "Places between posts, from the start post's centre."),
        spreader_length=LENGTH,
    ),
    "PanelRow": record(
        "The glass of a section.",
        kind=one_of(("glass",)),
        panels=many(ref("Panel")),
        gaps=many(LENGTH, "Clear gaps bay by bay, from post to panel to post."),
        thickness=LENGTH,
        low={**LENGTH, "description": "Lower edge above the walking surface or nosing line."},
    ),
    "Panel": record(
        "One pane; on a stair a parallelogram with plumb sides.",
        name=TEXT,
        stock=text("Supplied width; empty where it is cut to size."),
        from_start={**LENGTH, "description": "Near edge, from the start post's centre."},
        width={**LENGTH, "description": "Horizontal."},
        height={**LENGTH, "description": "Plumb, with what enters the rails."},
        corners=record(
            "Heights of its corners above the lowest one.",
            start_bottom=LENGTH,
            start_top=LENGTH,
            end_bottom=LENGTH,
            end_top=LENGTH,
        ),
        mass_kg=decimal("Kilograms, to the gram."),
        clamps=WHOLE,
    ),
    "RailRow": record(
        "The rails between top and bottom rail.",
        kind=one_of(("rails",)),
        depth=LENGTH,
        heights=_HEIGHTS,
        gaps=_GAPS,
        rails=many(
            titled(
                "InfillRail",
                record(
                    "One length of infill rail to cut.",
                    name=TEXT,
                    from_start={
                        **LENGTH,
                        "description": "From the start post's centre, horizontal.",
                    },
                    length={**LENGTH, "description": "Blank to cut, long point to long point."},
                    saw_deg=said(NUMBER, "Angle off square of both end cuts."),
                ),
            )
        ),
    ),
    "CableRun": record(
        "Equal cables from one end post to the next.",
        name=TEXT,
        start=text("Post that takes the pull."),
        end=text("Post that takes the pull."),
        passes=many(TEXT, "Posts between that every cable goes through or past."),
        corners=said(WHOLE, "How many of those are corner posts."),
        sections=many(TEXT),
        count=WHOLE,
        length={**LENGTH, "description": "Of each, with what goes into its two fittings."},
        raked=FLAG,
    ),
}

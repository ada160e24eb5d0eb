"""What carries each post, and the block schedule."""

from service.api.answers.words import FLAG, NUMBER, TEXT, WHOLE, many, or_null, record, ref, said

LENGTH = ref("PrintedLength")

SUPPORTS = {
    "PostSupport": record(
        "What carries a post.",
        post=TEXT,
        over=many(TEXT, 'Timber under its base plate: "rim", "joist 3".'),
        blocks=many(TEXT, "Blocks it needs."),
        fasteners=many(ref("FastenerLanding"), "Empty without a base plate, and on a fascia."),
        overhang={**LENGTH, "description": "How far its plate stands out past the rim."},
        supported=said(
            or_null(FLAG), "False: something must change first. Null: others see to it."
        ),
        notes=many(TEXT, "What is wrong and what to do."),
    ),
    "FastenerLanding": record(
        "Where one fastener meets timber.",
        number=said(WHOLE, "In the order of the plate's holes."),
        at=ref("Point"),
        timber=said(TEXT, "Joist, rim or block; empty where there is none."),
        edge={**LENGTH, "description": "To the timber's nearest edge; negative in the air."},
        end=or_null(LENGTH),
        holds=said(FLAG, "Whether edge and end are as far off as the system asks."),
    ),
    "Block": record(
        "Blocking to cut and set before the post goes up.",
        name=TEXT,
        level=TEXT,
        posts=many(TEXT, "Posts that stand on it."),
        between=many(TEXT, "What its ends meet."),
        length={**LENGTH, "description": "Of each ply, long point to long point."},
        thickness=LENGTH,
        depth=LENGTH,
        ends_deg=many(NUMBER, "How far each end cut is turned from square, left positive."),
        plies=said(WHOLE, "Pieces of stock."),
        at=many(ref("Point"), "Middle of each ply."),
    ),
}

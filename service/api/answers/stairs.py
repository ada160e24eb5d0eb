"""Stairs in the answer: flights in plan, handrails, transitions and raked ends."""

from service.api.answers.words import NUMBER, TEXT, WHOLE, many, one_of, record, ref, said, titled
from service.domain.layout.deck import Footing, Side
from service.domain.layout.stair_records import HandrailMount

LENGTH = ref("PrintedLength")

STAIRS = {
    "StairPlan": record(
        "A flight in plan.",
        name=TEXT,
        level=TEXT,
        edge=WHOLE,
        top=many(ref("Point"), "Ends of the top nosing, left and right as seen walking down."),
        down=titled("UnitVector", record("Unit vector of the way down.", x=NUMBER, y=NUMBER)),
        rake=ref("Rake"),
        clear_width=LENGTH,
        bottom=one_of(Footing),
    ),
    "Handrail": record(
        "A handrail on brackets, from above the top riser to above the lowest one.",
        name=TEXT,
        stair=TEXT,
        side=one_of(Side),
        mount=one_of(HandrailMount),
        height={**LENGTH, "description": "Its top above the nosing line."},
        slope_length={**LENGTH, "description": "Of its sloped part, along it."},
        top_extension={**LENGTH, "description": "Of its level part above that."},
        pieces=many(LENGTH, "Cut lengths."),
        returns=many(LENGTH, "Returned ends; none without returns."),
        brackets=many(LENGTH, "Places along the sloped part."),
        clearance={**LENGTH, "description": "Gap to the wall or guard."},
        projection={**LENGTH, "description": "From the wall or guard to its far face."},
        saw_deg=NUMBER,
    ),
    "Transition": record(
        "Where level guard meets a stair rail at a top stair post.",
        post=TEXT,
        section=TEXT,
        level_top={**LENGTH, "description": "Level rail above the walking surface."},
        stair_top={**LENGTH, "description": "Stair rail above it, at the post's lower face."},
        step={**LENGTH, "description": "How far the stair rail lies below the level rail."},
        mitre_deg=said(NUMBER, "Cut on each piece if the top rail runs round without a step."),
    ),
    "RakedFit": record(
        "How the ends of a raked rail sit in their posts.",
        rail=TEXT,
        entry={**LENGTH, "description": "Past the post face at each end, horizontal."},
        saw_deg=said(NUMBER, "Angle of the end cuts off square."),
        visible_gap={**LENGTH, "description": "Open at the bottom of the post opening."},
    ),
}

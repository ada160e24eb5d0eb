"""The layout."""

from service.api.answers.infill import INFILL
from service.api.answers.stairs import STAIRS
from service.api.answers.supports import SUPPORTS
from service.api.answers.surveys import SURVEYS
from service.api.answers.words import (
    FLAG,
    NUMBER,
    TEXT,
    WHOLE,
    many,
    one_of,
    or_null,
    record,
    ref,
    said,
    text,
    titled,
)
from service.domain.layout.deck import Side
from service.domain.layout.records import PostPosition
from service.domain.layout.system import JointKind

LENGTH = ref("PrintedLength")

LAYOUT = {
    **INFILL,
    **STAIRS,
    **SUPPORTS,
    **SURVEYS,
    "Layout": record(
        "Where every post stands, what every section is, and in which order they go in.",
        system=text("Name of the railing system."),
        posts=many(ref("Post")),
        runs=many(ref("Run")),
        sections=many(ref("Section")),
        stairs=many(ref("StairPlan")),
        cables=many(ref("CableRun"), "From end post to end post, where cables are the infill."),
        choices=many(ref("RunChoice"), "Where alternatives were asked for."),
        handrails=many(ref("Handrail")),
        transitions=many(ref("Transition")),
        raked_fits=many(ref("RakedFit")),
        gates=many(ref("GateLeaf"), "Where the system describes gates."),
        surveys=many(ref("SurveyReport"), "Of levels given by tape readings."),
        clear_openings=many(ref("ClearOpening")),
        supports=many(ref("PostSupport"), "Of posts on levels whose framing was taped."),
        blocks=many(ref("Block"), "Block schedule."),
        installation=many(ref("Step"), "Order of installation."),
        notes=many(TEXT, "What the reader should know about the choices made."),
    ),
    "Post": record(
        "One post.",
        name=TEXT,
        position=one_of(PostPosition),
        at=ref("Point"),
        axis_deg=said(NUMBER, "Plan direction square to one of its faces."),
        turn_deg=said(NUMBER, "Plan angle between the runs that meet at it, left positive."),
        surface=text("What it stands on."),
        base={**LENGTH, "description": "Elevation of that surface; 0 is its level's surface."},
        height={**LENGTH, "description": "Cut height from that surface."},
        stock=text("Supplied post it is cut from; empty for one that already stands."),
        level=TEXT,
        edge=WHOLE,
        stair=TEXT,
    ),
    "Run": record(
        "A straight stretch of guard between two terminating posts.",
        name=TEXT,
        level=TEXT,
        edge=WHOLE,
        stair=TEXT,
        side=or_null(one_of(Side)),
        start=text("Post at its start."),
        end=text("Post at its end."),
        length=LENGTH,
        fall_height=or_null(LENGTH),
        bays=many(
            titled("Bay", record("Between neighbouring posts.", start=TEXT, end=TEXT, span=LENGTH))
        ),
        rake=or_null(ref("Rake")),
    ),
    "RailEnd": record(
        "How one end of a section meets its post.",
        post=TEXT,
        joint=one_of(JointKind),
        angle_deg=NUMBER,
        gap={**LENGTH, "description": "Left when the rail goes in, horizontal."},
        widest_gap=said(or_null(LENGTH), "On the coldest day; null without conditions."),
        hold=said(or_null(LENGTH), "What the joint then holds; null where that is not known."),
    ),
    "Rail": record(
        "One length of rail to cut.",
        name=TEXT,
        place=one_of(("top", "bottom"), name="RailPlace"),
        from_start={**LENGTH, "description": "From the start post's centre, horizontal."},
        length={**LENGTH, "description": "Blank to cut, long point to long point."},
        saw_deg=said(NUMBER, "Angle off square of both end cuts."),
        pickets=WHOLE,
        first_picket=or_null(LENGTH),
        pitch=or_null(LENGTH),
    ),
    "Pickets": record(
        "The pickets of a section.",
        count=WHOLE,
        width=LENGTH,
        length=LENGTH,
        pitch=LENGTH,
        end_gaps=many(LENGTH),
        centred_on=one_of(("picket", "gap"), name="CentredOn"),
        centres=many(LENGTH, "From the start post's centre, horizontal."),
        removed=many(LENGTH, "Places on the grid taken by line posts."),
    ),
    "Section": record(
        "What is prefabricated and carried into place as one piece.",
        name=TEXT,
        run=TEXT,
        start=ref("RailEnd"),
        end=ref("RailEnd"),
        line_posts=many(
            titled("LinePost", record("A post inside the section.", post=TEXT, from_start=LENGTH))
        ),
        carries=many(TEXT, "Posts fixed to it on the saw-horses."),
        length={**LENGTH, "description": "Centre to centre of its end posts, horizontal."},
        clear={**LENGTH, "description": "Face to face of its end posts, horizontal."},
        rails=many(ref("Rail")),
        pickets={**ref("Pickets"), "description": "None, with a count of 0, for other infill."},
        infill=said(
            or_null(ref("Infill")),
            "What fills it instead of pickets.",
        ),
        support_legs=many(LENGTH, "From the start post's centre, horizontal."),
        support_leg_heights=many(LENGTH, "From deck or tread to the bottom rail."),
        rake=or_null(ref("Rake")),
    ),
    "RunChoice": record(
        "What was picked for a run, and what else would do.",
        run=TEXT,
        picked=said(WHOLE, "Which option was taken, from 0."),
        options=many(
            record(
                "One way to divide the run.",
                posts=said(WHOLE, "Posts between its ends."),
                spans=many(LENGTH, "Its bays."),
                uneven={**LENGTH, "description": "Longest bay less the shortest."},
                symmetric=FLAG,
                away_from_wish={**LENGTH, "description": "What its posts cost the wish."},
            ),
            "The best first.",
        ),
    ),
    "ClearOpening": record(
        "An opening that a sphere may be pushed at.",
        element=TEXT,
        place=TEXT,
        clear=LENGTH,
        on_stair=FLAG,
    ),
    "Step": record(
        "One step of the installation.",
        number=WHOLE,
        element=TEXT,
        text=TEXT,
        joins=many(TEXT, "Posts already standing that it is joined to."),
        carries=many(TEXT, "Posts that come with it."),
    ),
}

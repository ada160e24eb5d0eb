"""What the layout says: posts, runs, sections with their rails and pickets, order of installation.

Positions along a run are whole nanometres from the centre of its start post, measured
horizontally; on a stair the start post is the top one.
"""

from enum import StrEnum

from service.domain.layout.choice_records import RunChoice
from service.domain.layout.deck import Deck, Footing, Point, Side
from service.domain.layout.framing import Block, PostSupport
from service.domain.layout.gate_records import Gate
from service.domain.layout.infill_records import CableRow, CableRun, PanelRow
from service.domain.layout.stair_records import Handrail, RakedFit, Transition
from service.domain.layout.survey_records import SurveyReport
from service.domain.layout.system import JointKind, RailingSystem
from service.domain.record import record


class PostPosition(StrEnum):
    """Where a post stands in the railing."""

    LINE = "line"
    CORNER = "corner"
    END = "end"
    GATE = "gate"
    STAIR_TOP = "stair_top"
    STAIR_LINE = "stair_line"
    STAIR_BOTTOM = "stair_bottom"
    EXISTING = "existing"  # already there: joined to, not ordered


@record(frozen=True, slots=True)
class Post:
    """One post.

    Attributes:
        name: "P1", "P2", ... in order along the guard.
        at: Plan position of its centre. [nm]
        axis_deg: Plan direction square to one of its faces. [deg]
        turn_deg: Plan angle between the two runs that meet at it, left positive; 0 if one. [deg]
        surface: What it stands on: "deck", "fascia", or a Footing.
        base_nm: Elevation of that surface, 0 being the walking surface of its level. [nm]
        height_nm: Cut height, from the surface up (a fascia post also counts its drop). [nm]
        stock: Name of the supplied post it is cut from, "" for an existing post.
        level, edge, stair: Where it belongs; edge is the caller's number, stair may be "".
        width_nm: Face to face. [nm]
    """

    name: str
    position: PostPosition
    at: Point
    axis_deg: float
    turn_deg: float
    surface: str
    base_nm: int
    height_nm: int
    stock: str
    level: str
    edge: int
    stair: str = ""
    width_nm: int = 0


@record(frozen=True, slots=True)
class Bay:
    """Between two neighbouring posts; the span is centre to centre, horizontal. [nm]"""

    start: str
    end: str
    span_nm: int


@record(frozen=True, slots=True)
class Rake:
    """Slope of a flight: exact integers, and the angle they make.

    Attributes:
        rise_nm: Total rise of the flight. [nm]
        run_nm: Horizontal distance over which the nosing line falls by that rise. [nm]
        angle_deg: atan(rise / run). [deg]
    """

    rise_nm: int
    run_nm: int
    angle_deg: float


@record(frozen=True, slots=True)
class Run:
    """A straight stretch of guard between two terminating posts.

    Attributes:
        length_nm: Centre to centre of the terminating posts, horizontal; the bays add up to it.
        fall_height_nm: As taped on its edge, None if it was not. [nm]
    """

    name: str
    level: str
    edge: int
    stair: str
    side: Side | None
    start: str
    end: str
    length_nm: int
    bays: tuple[Bay, ...]
    fall_height_nm: int | None
    rake: Rake | None = None


@record(frozen=True, slots=True)
class RailEnd:
    """How one end of a section meets its post.

    Attributes:
        post: Name of the post.
        joint: Fixed, sleeve, bracket or stair.
        angle_deg: Angle between the rail and the post's face normal in plan, 0 if square. [deg]
        gap_nm: Left at this end when the rail goes in, horizontal. [nm]
        widest_gap_nm: The same on the coldest day; None without conditions. [nm]
        hold_nm: What the joint then holds of the rail; None where that is not known. [nm]
    """

    post: str
    joint: JointKind
    angle_deg: float = 0.0
    gap_nm: int = 0
    widest_gap_nm: int | None = None
    hold_nm: int | None = None


@record(frozen=True, slots=True)
class Rail:
    """One length of rail to cut.

    Attributes:
        place: "top", "bottom" or, of a rail between them, "infill".
        start_nm: Horizontal distance from the section's start post centre to the rail's start.
        length_nm: Blank to cut from stock, long point to long point on a stair. [nm]
        saw_deg: Angle off square of both end cuts, in elevation; 0 on the level. [deg]
        pickets: Picket places it spans, counting those that a line post takes.
        first_picket_nm: Along the rail from its start (on a stair: from the long point of the
            blank at the start) to the centre of its first picket; None without pickets. [nm]
        pitch_nm: Picket pitch along the rail; None without pickets or with fewer than two. [nm]
    """

    name: str
    place: str
    start_nm: int
    length_nm: int
    saw_deg: float
    pickets: int
    first_picket_nm: int | None
    pitch_nm: int | None


@record(frozen=True, slots=True)
class PicketRow:
    """The pickets of a section.

    Attributes:
        centres_nm: (n,) centres from the section's start post centre, horizontal. [nm]
        removed_nm: Centres on the grid whose picket gives way to a line post. [nm]
        width_nm, length_nm: Face width and cut length of one picket. [nm]
        pitch_nm: Horizontal centre-to-centre distance (the first one where gaps share a rest).
        end_gaps_nm: Clear gap from the start and the end post's face to the nearest picket.
        centred_on: "picket" or "gap", whichever lies in the middle of the section.
    """

    centres_nm: tuple[int, ...]
    removed_nm: tuple[int, ...]
    width_nm: int
    length_nm: int
    pitch_nm: int
    end_gaps_nm: tuple[int, int]
    centred_on: str


NO_PICKETS = PicketRow((), (), 0, 0, 0, (0, 0), "gap")


@record(frozen=True, slots=True)
class RailRow:
    """The rails between top and bottom rail, where these are the infill.

    Attributes:
        rails: Each piece to cut, the lowest first.
        heights_nm: Centre of each above the walking surface, on a stair above the nosing line.
        depth_nm: Vertical size, on a stair square to the slope. [nm]
        gaps_nm: Clear gaps from the bottom rail up, square to the rails. [nm]
    """

    rails: tuple[Rail, ...]
    heights_nm: tuple[int, ...]
    depth_nm: int
    gaps_nm: tuple[int, ...]


Infill = CableRow | PanelRow | RailRow


@record(frozen=True, slots=True)
class Section:
    """What is prefabricated and carried into place as one piece.

    Attributes:
        start, end: How each end meets its post.
        line_posts: Names of the posts inside it, in order.
        line_posts_nm: Their centres from the start post centre. [nm]
        carries: Posts fixed to it on the saw-horses.
        length_nm: Centre to centre of its start and end posts, horizontal. [nm]
        clear_nm: Face to face of those posts along its centre line, horizontal. [nm]
        pickets: ``NO_PICKETS`` where the infill is something else.
        support_legs_nm: Places of support legs from the start post centre, horizontal. [nm]
        support_leg_heights_nm: Height of each, from deck or tread to the bottom rail. [nm]
        infill: Cables, panels or rails; None for pickets.
    """

    name: str
    run: str
    start: RailEnd
    end: RailEnd
    line_posts: tuple[str, ...]
    line_posts_nm: tuple[int, ...]
    carries: tuple[str, ...]
    length_nm: int
    clear_nm: int
    rails: tuple[Rail, ...]
    pickets: PicketRow
    support_legs_nm: tuple[int, ...] = ()
    rake: Rake | None = None
    infill: Infill | None = None
    support_leg_heights_nm: tuple[int, ...] = ()


@record(frozen=True, slots=True)
class ClearOpening:
    """An opening a sphere may be pushed at.

    Attributes:
        element: Section, post or stair name.
        place: "between pickets", "picket to post", "post to wall", "under the bottom rail",
            "post to structure", "between cables", "cable to rail", "between panels",
            "panel to post", "under the glass", "between infill rails", "infill rail to rail",
            "post to post", "post to obstacle", "gate to post", "under the gate".
        clear_nm: Clear size: horizontal between uprights, vertical under rail or glass, square to
            cables and infill rails; between cables with what they give way. [nm]
        on_stair: True on the open side of a stair.
    """

    element: str
    place: str
    clear_nm: int
    on_stair: bool


@record(frozen=True, slots=True)
class StairPlan:
    """A stair in plan, for drawing and measuring.

    Attributes:
        top: Plan ends of the top nosing, (left, right) as seen walking down. [nm]
        down: Unit vector of the walking direction down, (dx, dy).
        clear_width_nm: Between the inner faces of the rails or the stair's own sides. [nm]
    """

    name: str
    level: str
    edge: int
    top: tuple[Point, Point]
    down: tuple[float, float]
    rake: Rake
    clear_width_nm: int
    bottom: Footing


@record(frozen=True, slots=True)
class Step:
    """One step of the installation.

    Attributes:
        element: Post or section set in this step.
        text: What is done, one sentence.
        joins: Posts already standing that it is joined to.
        carries: Posts that come with it.
    """

    number: int
    element: str
    text: str
    joins: tuple[str, ...]
    carries: tuple[str, ...]


@record(frozen=True, slots=True)
class Layout:
    """The whole job, before anything is cut."""

    deck: Deck
    system: RailingSystem
    posts: tuple[Post, ...]
    runs: tuple[Run, ...]
    sections: tuple[Section, ...]
    stairs: tuple[StairPlan, ...]
    openings: tuple[ClearOpening, ...]
    steps: tuple[Step, ...]
    notes: tuple[str, ...]
    cables: tuple[CableRun, ...] = ()
    supports: tuple[PostSupport, ...] = ()
    blocks: tuple[Block, ...] = ()
    choices: tuple[RunChoice, ...] = ()
    handrails: tuple[Handrail, ...] = ()
    transitions: tuple[Transition, ...] = ()
    raked_fits: tuple[RakedFit, ...] = ()
    gates: tuple[Gate, ...] = ()
    surveys: tuple[SurveyReport, ...] = ()

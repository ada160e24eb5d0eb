"""A railing system as the layout sees it: dimensions, joints and limits, all from data."""

from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from enum import StrEnum

from service.domain.layout.framing import BasePlate
from service.domain.layout.stair_records import HandrailParts
from service.domain.lengths import INCH
from service.domain.record import record


class Method(StrEnum):
    """How the system builds a run."""

    CONTINUOUS = "continuous"  # rails run past line posts, each in the place of a picket
    BETWEEN_POSTS = "between_posts"  # rails are cut between neighbouring posts


class Assembly(StrEnum):
    """In which order posts and rails come together."""

    PREFABRICATED = "prefabricated"  # far-end and line posts are fixed on the saw-horses
    POSTS_FIRST = "posts_first"  # every post stands before a rail is cut


class Mount(StrEnum):
    """What a level post is fixed to."""

    SURFACE = "surface"
    FASCIA = "fascia"


class CornerPosts(StrEnum):
    """How many posts a corner takes."""

    ONE = "one_post"  # both runs meet it, with angled connectors where it is not square
    TWO = "two_posts"  # each run ends at its own


class JointKind(StrEnum):
    """How a rail end meets a post."""

    FIXED = "fixed"  # the post is carried by the section
    SLEEVE = "sleeve"  # the rail is joined to a post that stands
    BRACKET = "bracket"  # the rail sits in a bracket outside the post
    STAIR = "stair"  # a raked rail end enters a stair post


@record(frozen=True, slots=True)
class Joint:
    """What a rail end needs at a joint.

    Attributes:
        enters_nm: How far the rail goes past the post face, into post or sleeve. [nm]
        clearance_nm: Gap always left at this end. [nm]
        fitting_nm: What must be left of it on the hottest day. [nm]
        reach_nm: How far the joint reaches from the post's face over the rail; None if that is
            not known. [nm]
        least_hold_nm: How much of the rail it must hold on the coldest day. [nm]
    """

    enters_nm: int = 0
    clearance_nm: int = 0
    fitting_nm: int = 0
    reach_nm: int | None = None
    least_hold_nm: int = 0

    @property
    def allowance_nm(self) -> int:
        """What the joint adds to the face-to-face length; negative where it shortens. [nm]"""
        return self.enters_nm - self.clearance_nm


@record(frozen=True, slots=True)
class RailProfile:
    """Outer size of a rail: depth is vertical, width is across. [nm]

    Attributes:
        symmetric: Whether its two sides are alike, so that a piece may be turned on the saw.
    """

    depth_nm: int
    width_nm: int
    symmetric: bool = False


@record(frozen=True, slots=True)
class PostStock:
    """A post as it is supplied; the shortest one that is high enough is taken and cut down."""

    name: str
    height_nm: int


@record(frozen=True, slots=True)
class Pickets:
    """Picket data.

    Attributes:
        width_nm: Face width along the rail. [nm]
        pitch_nm: Centre to centre on pre-punched level rail, or None for a free pitch. [nm]
        stair_pitch_nm: Centre to centre along pre-punched stair rail, or None. [nm]
        max_gap_nm: A free pitch keeps every clear gap strictly below this. [nm]
        enters_nm: How far a picket end goes into each rail. [nm]
        centred_on: "picket" or "gap" to lie in the middle of each section; "" for either.
    """

    width_nm: int
    pitch_nm: int | None
    stair_pitch_nm: int | None
    max_gap_nm: int
    enters_nm: int = 0
    centred_on: str = ""


def no_pickets(max_gap_nm: int) -> Pickets:
    """Stand for the pickets of a system whose infill is something else.

    Args:
        max_gap_nm: Greatest clear gap its infill leaves. [nm]
    """
    return Pickets(width_nm=0, pitch_nm=None, stair_pitch_nm=None, max_gap_nm=max_gap_nm)


@record(frozen=True, slots=True)
class Cables:
    """Cable data. On a stair the cables run parallel to the rake.

    Attributes:
        diameter_nm: Outer diameter. [nm]
        max_gap_nm: The clear gap, and what cables give way, stay together strictly below. [nm]
        deflection_nm: How much a gap widens when something is pushed between two cables. [nm]
        max_support_nm: Farthest from post or spreader to the next one, along the cable. [nm]
        end_allowance_nm: Cable past the face of an end post, into the fitting. [nm]
        max_length_nm: Longest cable one tensioner pulls, between end post faces. [nm]
        max_corners: How many corner posts one cable may turn at.
        ends_at_line_posts: Whether a line post can take the pull where a run is too long.
    """

    diameter_nm: int
    max_gap_nm: int
    max_support_nm: int
    max_length_nm: int
    deflection_nm: int = 0
    end_allowance_nm: int = 0
    max_corners: int = 0
    ends_at_line_posts: bool = False


@record(frozen=True, slots=True)
class Clamps:
    """How many clamps hold a panel up to a height. [nm]"""

    up_to_nm: int
    per_panel: int


@record(frozen=True, slots=True)
class PanelStock:
    """A width in which level panels are supplied. [nm]"""

    name: str
    width_nm: int


@record(frozen=True, slots=True)
class Glass:
    """Glass data.

    Attributes:
        min_width_nm, max_width_nm: Narrowest and widest panel, horizontal. [nm]
        min_gap_nm: Least clear gap between panels, and between panel and post. [nm]
        max_gap_nm: The same gaps stay strictly below this. [nm]
        thickness_nm: [nm]
        mass_kg_m2: Mass of one square metre. [kg/m2]
        max_mass_kg: Heaviest panel two people carry. [kg]
        stock: Widths supplied, each once; empty where panels are cut to size. Raked panels are
            always cut to size (common practice, no source).
        step_nm: Panels cut to size are whole multiples of this. [nm]
        enters_nm: How far a panel's edge goes into each rail. [nm]
        bottom_rail: False where panels stand over the deck without one.
        clamps: Clamps by panel height, lowest first; empty where rails alone hold the glass.
    """

    min_width_nm: int
    max_width_nm: int
    min_gap_nm: int
    max_gap_nm: int
    thickness_nm: int
    mass_kg_m2: Decimal
    max_mass_kg: Decimal
    stock: tuple[PanelStock, ...] = ()
    step_nm: int = 1_000_000
    enters_nm: int = 0
    bottom_rail: bool = True
    clamps: tuple[Clamps, ...] = ()


@record(frozen=True, slots=True)
class InfillRails:
    """Rails as infill, parallel to the top rail.

    Attributes:
        depth_nm: Vertical size. [nm]
        max_gap_nm: Every clear gap stays strictly below this. [nm]
        past_line_posts: Whether they run past line posts inside a section; else they are cut
            either side of them as the bottom rail is.
    """

    depth_nm: int
    max_gap_nm: int
    past_line_posts: bool = True


@record(frozen=True, slots=True)
class GateParts:
    """What a gate's leaf leaves and may be. [nm]

    Attributes:
        hinge_gap_nm, latch_gap_nm: Clear gaps from the leaf to the hinge and the latch post.
        bottom_gap_nm: Walking surface to the underside of the leaf.
        max_leaf_nm: Widest leaf that hangs on one post.
        post_stock: Name of the post stock kept for gate posts, "" for the ordinary ones.
    """

    hinge_gap_nm: int
    latch_gap_nm: int
    bottom_gap_nm: int
    max_leaf_nm: int
    post_stock: str = ""


@record(frozen=True, slots=True)
class RailingSystem:
    """Dimensions and limits of one railing system. All lengths in nanometres.

    Attributes:
        guard_height_nm: Walking surface to the top of the top rail.
        stair_guard_height_nm: Nosing line to the top of the stair's top rail, vertical.
        bottom_gap_nm: Walking surface to the underside of the bottom rail.
        stair_bottom_gap_nm: Nosing line to the underside of the stair's bottom rail, vertical.
        set_back_nm: Deck edge to post centre; inboard on a surface, outboard on a fascia.
        stair_set_back_nm: Stair's open side to the post line; inboard on a surface, outboard on
            a fascia, where stair posts hang beside the stair as level posts beside the deck.
        tread_set_back_nm: Nosing to the centre of a post on that tread.
        foot_offset_nm: Face of the lowest riser to the centre of a post in front of it.
        post_width_nm: Square post, face to face.
        post_above_rail_nm: How far a post stands above the highest rail top at its centre.
        max_span_nm: Greatest centre-to-centre distance of neighbouring level posts.
        max_stair_span_nm: The same on a stair, measured horizontally.
        wall_clearance_nm: Clear gap between an end post and the wall.
        line_post_cut_nm: Half the bottom-rail gap at a line post (each side of its centre).
        max_section_nm: Longest section that stock and carrying allow, centre to centre.
        max_unsupported_nm: Longest bottom rail without a support leg.
        max_rake_deg: Steepest stair the rails can be raked to. [deg]
        infill: What fills the guard instead of pickets; None for pickets. `pickets` is then
            ``no_pickets``.
        base: Plate under a surface-mounted post; None if it is not known.
        expansion_per_k: Coefficient of linear expansion of the rails. [1/K]
    """

    name: str
    method: Method
    assembly: Assembly
    mount: Mount
    guard_height_nm: int
    stair_guard_height_nm: int
    bottom_gap_nm: int
    stair_bottom_gap_nm: int
    set_back_nm: int
    stair_set_back_nm: int
    tread_set_back_nm: int
    foot_offset_nm: int
    post_width_nm: int
    post_above_rail_nm: int
    posts: tuple[PostStock, ...]
    top_rail: RailProfile
    bottom_rail: RailProfile
    pickets: Pickets
    max_span_nm: int
    max_stair_span_nm: int
    wall_clearance_nm: int
    line_post_cut_nm: int
    max_section_nm: int
    max_unsupported_nm: int
    max_rake_deg: float
    joints: Mapping[JointKind, Joint] = field(default_factory=dict)
    fascia_drop_nm: int = 0  # fascia mount: how far the post goes down below the surface
    square_corners: CornerPosts = CornerPosts.ONE
    angled_corners: CornerPosts = CornerPosts.ONE
    corner_gap_nm: int = 0  # clear gap between the two posts of a corner
    infill: Cables | Glass | InfillRails | None = None
    base: BasePlate | None = None
    expansion_per_k: float = 0.0
    stair_saw_deg: float | None = None  # end cuts of raked rails off square; None for the rake
    handrail: HandrailParts | None = None
    chord_sagitta_nm: int = INCH // 2  # how far a chord may lie from its arc (judgement)
    gates: GateParts | None = None

    @property
    def stair_inward_nm(self) -> int:
        """Signed distance of a stair's post line inside its open side. [nm]"""
        return self.stair_set_back_nm * (1 if self.mount is Mount.SURFACE else -1)

    def allowance_nm(self, kind: JointKind) -> int:
        """Give what a joint of this kind adds to a rail, nothing if the system names none."""
        joint = self.joints.get(kind)
        return joint.allowance_nm if joint else 0

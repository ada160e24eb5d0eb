"""The railing system as a request gives it: dimensions, joints, limits, and rules for parts."""

from marshmallow import fields

from service.api.schemas.base import StrictSchema, absent
from service.api.schemas.facts import GripSchema
from service.api.schemas.fields import (
    Choice,
    JsonInt,
    LengthField,
    Rows,
    Text,
    YesNo,
    steepness,
)
from service.api.schemas.infill import INFILLS, CablesSchema, GlassSchema, InfillRailsSchema
from service.api.schemas.parts import (
    LONGEST_DESCRIPTION,
    LONGEST_SKU,
    MOST_STOCK,
    LabourSchema,
    PartSchema,
)
from service.api.schemas.site import BasePlateSchema, Expansion
from service.domain.layout.system import Assembly, CornerPosts, Method, Mount
from service.domain.lengths import inches

MOST_PARTS = 500
MOST_LABOUR = 100
MOST_SPANS = 50


class PostStockSchema(StrictSchema):
    """A post as it is supplied, high enough to be cut down."""

    name = Text(LONGEST_SKU, required=True)
    height = LengthField(required=True)


class PostSchema(StrictSchema):
    """Posts: face width, how far they stand above the rail, and what is supplied."""

    width = LengthField(required=True)
    above_rail = LengthField(kind="Length", load_default=0)
    stock = Rows(fields.Nested(PostStockSchema), 1, MOST_STOCK, required=True)


class RailSchema(StrictSchema):
    """Outer size of a rail, and whether its two sides are alike, so that it may be turned."""

    depth = LengthField(required=True)
    width = LengthField(required=True)
    symmetric = YesNo(load_default=False)


class PicketsSchema(StrictSchema):
    """Pickets; without a pitch they are spaced freely under the greatest gap."""

    width = LengthField(required=True)
    pitch = LengthField(load_default=absent)
    stair_pitch = LengthField(load_default=absent)
    max_gap = LengthField(required=True)
    enters = LengthField(kind="Length", load_default=0)
    centred_on = Choice(("picket", "gap"), title="CentredOn", load_default=absent)


class LimitsSchema(StrictSchema):
    """What the system allows: spans, section, unsupported rail, rake in degrees."""

    span = LengthField(required=True)
    stair_span = LengthField(required=True)
    section = LengthField(required=True)
    unsupported = LengthField(required=True)
    rake = steepness(required=True)


class JointSchema(StrictSchema):
    """How far a rail enters at a joint, and the gap left at that end.

    Under conditions the gap keeps the fitting on the hottest day, and on the coldest the joint,
    which reaches so far over the rail, holds no less than the least hold.
    """

    enters = LengthField(kind="Length", load_default=0)
    clearance = LengthField(kind="Length", load_default=0)
    fitting = LengthField(kind="Length", load_default=0)
    reach = LengthField(kind="Length", load_default=absent)
    least_hold = LengthField(kind="Length", load_default=0)


class JointsSchema(StrictSchema):
    """The ways a rail end meets a post."""

    fixed = fields.Nested(JointSchema)
    sleeve = fields.Nested(JointSchema)
    bracket = fields.Nested(JointSchema)
    stair = fields.Nested(JointSchema)


class SpanSchema(StrictSchema):
    """The greatest span of level guard up to a height, with one kind of infill or with any."""

    height = LengthField(required=True)
    infill = Choice(INFILLS, title="InfillKind")
    span = LengthField(required=True)


class CornersSchema(StrictSchema):
    """How many posts a corner takes, and the clear gap between two of them."""

    square = Choice(CornerPosts, load_default=CornerPosts.ONE.value)
    angled = Choice(CornerPosts, load_default=CornerPosts.ONE.value)
    gap = LengthField(kind="Length", load_default=0)


class GatePartsSchema(StrictSchema):
    """What a gate's leaf leaves and may be, and the post stock kept for gate posts."""

    hinge_gap = LengthField(kind="Length", required=True)
    latch_gap = LengthField(kind="Length", required=True)
    bottom_gap = LengthField(kind="Length", required=True)
    max_leaf = LengthField(required=True)
    post_stock = Text(LONGEST_SKU)


class ShopSchema(StrictSchema):
    """How the shop saws: kerf of the blade, trim at factory ends, least remnant kept."""

    kerf = LengthField(kind="Length", required=True)
    end_trim = LengthField(kind="Length", load_default=0)
    least_remnant = LengthField(load_default=absent)


class HandrailSchema(StrictSchema):
    """A handrail on brackets; bottom treads is how far it goes on past the lowest riser."""

    height = LengthField(required=True)
    width = LengthField(required=True)
    clearance = LengthField(kind="Length", required=True)
    bracket_spacing = LengthField(required=True)
    bracket_end = LengthField(required=True)
    longest = LengthField(required=True)
    top_extension = LengthField(kind="Length", load_default=0)
    bottom_treads = JsonInt(0, 1, load_default=0)
    returned = YesNo(load_default=True)


class SystemSchema(StrictSchema):
    """A railing system; its parts may be left out where nothing is ordered."""

    name = Text(LONGEST_DESCRIPTION, required=True)
    method = Choice(Method, required=True)
    assembly = Choice(Assembly, required=True)
    mount = Choice(Mount, required=True)
    guard_height = LengthField(required=True)
    stair_guard_height = LengthField(required=True)
    bottom_gap = LengthField(kind="Length", required=True)
    stair_bottom_gap = LengthField(kind="Length", required=True)
    set_back = LengthField(kind="Length", required=True)
    stair_set_back = LengthField(kind="Length", required=True)
    tread_set_back = LengthField(kind="Length", required=True)
    foot_offset = LengthField(kind="Length", required=True)
    fascia_drop = LengthField(load_default=absent)
    wall_clearance = LengthField(kind="Length", required=True)
    line_post_cut = LengthField(kind="Length", load_default=inches(1))  # common practice
    post = fields.Nested(PostSchema, required=True)
    top_rail = fields.Nested(RailSchema, required=True)
    bottom_rail = fields.Nested(RailSchema, required=True)
    infill = Choice(INFILLS, title="InfillKind", load_default=INFILLS[0])
    pickets = fields.Nested(PicketsSchema, load_default=absent)
    cables = fields.Nested(CablesSchema, load_default=absent)
    glass = fields.Nested(GlassSchema, load_default=absent)
    rails = fields.Nested(InfillRailsSchema, load_default=absent)
    limits = fields.Nested(LimitsSchema, required=True)
    spans = Rows(fields.Nested(SpanSchema), 0, MOST_SPANS, load_default=list)
    corners = fields.Nested(CornersSchema, load_default=absent)
    gates = fields.Nested(GatePartsSchema, load_default=absent)
    chord_sagitta = LengthField(load_default=inches(0, 1, 2))  # judgement, no source
    joints = fields.Nested(JointsSchema, load_default=dict)
    base = fields.Nested(BasePlateSchema, load_default=absent)
    expansion = Expansion(load_default=absent)
    handrail = fields.Nested(HandrailSchema, load_default=absent)
    grip = fields.Nested(GripSchema)
    stair_saw = steepness(load_default=absent)
    shop = fields.Nested(ShopSchema)
    parts = Rows(fields.Nested(PartSchema), 0, MOST_PARTS, load_default=list)
    labour = Rows(fields.Nested(LabourSchema), 0, MOST_LABOUR, load_default=list)


class StockedSystemSchema(SystemSchema):
    """A railing system whose parts are to be ordered."""

    shop = fields.Nested(ShopSchema, required=True)
    parts = Rows(fields.Nested(PartSchema), 1, MOST_PARTS, required=True)

"""What a layout is made of, as things that part rules count.

One ``Element`` is one thing (or a row of equal things) with the attributes a rule may ask for.
The kinds, their attributes and what their length means are this table; ``KINDS`` holds the same
for validation, and a rule that asks for anything else is refused.

=================  ==========================================================  ===================
kind               attributes                                                  length of each one
=================  ==========================================================  ===================
post               position line|corner|end|gate|stair_top|stair_line|         cut height
                   stair_bottom; surface deck|fascia|tread|landing|slab|
                   grade; stock (name of the post stock); stair yes|no;
                   cables end|pass, "" where none meet it
rail               place top|bottom; raked yes|no                              blank to cut
picket             raked yes|no                                                cut length
joint              joint fixed|sleeve|bracket|stair; angle square|angled;      none
                   place top|bottom|infill; raked yes|no
section            raked yes|no                                                centres, horizontal
line_post_joint    place top|bottom|infill; meets through|end; raked yes|no    none
support_leg        raked yes|no                                                height
infill_rail        raked yes|no                                                blank to cut
cable              raked yes|no                                                with its ends
cable_end          raked yes|no                                                none
cable_pass         at line|corner; raked yes|no                                none
spreader           raked yes|no                                                between the rails
panel              stock (name of the panel stock, "" cut to size); raked      width
                   yes|no
clamp              raked yes|no                                                none
handrail           mount wall|guard                                            each piece
handrail_bracket   mount wall|guard                                            none
handrail_return    mount wall|guard                                            each return
block              ends square|angled; one for each ply                        blank to cut
gate               none                                                        opening width
stair              bottom tread|landing|slab|grade                             none
run                raked yes|no                                                centres, horizontal
deck               none; there is one per job                                  none
=================  ==========================================================  ===================

A joint is one rail end at the post that starts or ends its section; joints to an existing post
count, the existing post itself is not ordered. A line_post_joint is one rail at a line post
inside a section: "through" where the rail runs past it, "end" for each rail that stops there.
A cable_pass is one cable at one post that it goes through or past. Panels have an area as well.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.domain.layout.deck import Footing
from service.domain.layout.records import PostPosition, Rail
from service.domain.layout.stair_records import HandrailMount
from service.domain.layout.system import JointKind

Values = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of element.

    Attributes:
        attributes: Each attribute with its values; an empty tuple leaves the values to the system.
        has_length: True if a rule may count it by the metre or cut it from stock.
        has_area: True if a rule may count it by the square metre.
    """

    attributes: Mapping[str, Values] = field(default_factory=dict)
    has_length: bool = False
    has_area: bool = False


YES_NO = ("yes", "no")
PLACES = ("top", "bottom")
_JOINED = (*PLACES, "infill")
_HANDRAIL_MOUNTS = tuple(mount.value for mount in HandrailMount)
_FOOTINGS = tuple(footing.value for footing in Footing)

KINDS: Mapping[str, Kind] = {
    "post": Kind(
        {
            "position": tuple(p.value for p in PostPosition if p is not PostPosition.EXISTING),
            "surface": ("deck", "fascia", *_FOOTINGS),
            "stock": (),
            "stair": YES_NO,
            "cables": ("end", "pass", ""),
        },
        has_length=True,
    ),
    "rail": Kind({"place": PLACES, "raked": YES_NO}, has_length=True),
    "picket": Kind({"raked": YES_NO}, has_length=True),
    "joint": Kind(
        {
            "joint": tuple(joint.value for joint in JointKind),
            "angle": ("square", "angled"),
            "place": _JOINED,
            "raked": YES_NO,
        }
    ),
    "section": Kind({"raked": YES_NO}, has_length=True),
    "line_post_joint": Kind({"place": _JOINED, "meets": ("through", "end"), "raked": YES_NO}),
    "support_leg": Kind({"raked": YES_NO}, has_length=True),
    "infill_rail": Kind({"raked": YES_NO}, has_length=True),
    "cable": Kind({"raked": YES_NO}, has_length=True),
    "cable_end": Kind({"raked": YES_NO}),
    "cable_pass": Kind({"at": ("line", "corner"), "raked": YES_NO}),
    "spreader": Kind({"raked": YES_NO}, has_length=True),
    "panel": Kind({"stock": (), "raked": YES_NO}, has_length=True, has_area=True),
    "clamp": Kind({"raked": YES_NO}),
    "handrail": Kind({"mount": _HANDRAIL_MOUNTS}, has_length=True),
    "handrail_bracket": Kind({"mount": _HANDRAIL_MOUNTS}),
    "handrail_return": Kind({"mount": _HANDRAIL_MOUNTS}, has_length=True),
    "block": Kind({"ends": ("square", "angled")}, has_length=True),
    "gate": Kind(has_length=True),
    "stair": Kind({"bottom": _FOOTINGS}),
    "run": Kind({"raked": YES_NO}, has_length=True),
    "deck": Kind(),
}


@dataclass(frozen=True, slots=True)
class Element:
    """One thing of the layout, or a row of equal things.

    Attributes:
        kind: A key of ``KINDS``.
        name: As the layout prints it; unique within its kind.
        attributes: Every attribute of its kind, in the order ``KINDS`` gives them.
        count: How many equal things stand behind the name.
        length_nm: Length of each one, None if its kind has none. [nm]
        section: Section it belongs to, "" for posts and the like.
        rail: The rail itself, for the saw.
        area_nm2: Area of each one, None if its kind has none. [nm2]
    """

    kind: str
    name: str
    attributes: Mapping[str, str]
    count: int = 1
    length_nm: int | None = None
    section: str = ""
    rail: Rail | None = None
    area_nm2: int | None = None


def yes(truth: bool) -> str:
    """Give the word for a flag."""
    return "yes" if truth else "no"

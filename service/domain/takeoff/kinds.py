"""What a layout is made of, as things that part rules count.

One ``Element`` is one thing (or a row of equal things) with the attributes and measures a rule may
ask for: an attribute has one of a few words, a measure is a length or an angle that a rule asks to
lie in a band. "length" is a measure of every kind that has one. The kinds are this table;
``KINDS`` holds the same for validation, and a rule that asks for anything else is refused.

=================  ==========================================================  ===================
kind               attributes; measures                                        length of each one
=================  ==========================================================  ===================
post               position line|corner|end|gate|stair_top|stair_line|         cut height
                   stair_bottom; surface deck|fascia|tread|landing|slab|
                   grade; stock (name of the post stock); stair yes|no;
                   cables end|pass, "" where none meet it;
                   turn_deg, perimeter, base_perimeter
rail               place top|bottom; raked yes|no; saw_deg                     blank to cut
picket             raked yes|no                                                cut length
joint              joint fixed|sleeve|bracket|stair; angle square|angled;      none
                   place top|bottom|infill; raked yes|no; to post|existing;
                   angle_deg, rake_deg, perimeter
section            raked yes|no                                                centres, horizontal
line_post_joint    place top|bottom|infill; meets through|end; raked yes|no;   none
                   perimeter
support_leg        raked yes|no                                                height
infill_rail        raked yes|no                                                blank to cut
cable              raked yes|no                                                with its ends
cable_end          raked yes|no                                                none
cable_pass         at line|corner; raked yes|no                                none
spreader           raked yes|no                                                between the rails
panel              stock (name of the panel stock, "" cut to size); raked      width
                   yes|no; height, perimeter
clamp              raked yes|no                                                none
handrail           mount wall|guard; raked yes|no                              each piece
handrail_bracket   mount wall|guard                                            none
handrail_return    mount wall|guard                                            each return
handrail_joint     mount wall|guard; angle_deg                                 none
handrail_end       mount wall|guard                                            none
block              ends square|angled; one for each ply                        blank to cut
gate               swing in|out; hinge left|right; leaf_width, leaf_height     opening width
stair              bottom tread|landing|slab|grade; rake_deg                   none
run                raked yes|no; fall_height                                   centres, horizontal
deck               none; there is one per job                                  none
=================  ==========================================================  ===================

A joint is one rail end at the post that starts or ends its section; joints to an existing post
count, the existing post itself is not ordered. A line_post_joint is one rail at a line post
inside a section: "through" where the rail runs past it, "end" for each rail that stops there.
A cable_pass is one cable at one post that it goes through or past. Panels have an area as well.
A handrail_joint is where two pieces of a handrail meet, a handrail_end one that is not returned.

Measures: turn_deg is the angle in plan between the runs that meet at a post; angle_deg of a joint
the one between rail and post face, of a handrail_joint the bend; rake_deg the slope, 0 on the
level; saw_deg a raked rail's end cut off square. Perimeters are what a bead goes round: a post, its
base plate, a rail where it meets a post, a panel. They are those of the system's square post, its
plate and its rails, so base_perimeter is missing where there is no plate or the system says
nothing of it; a leaf's size is missing where the system describes no gates, and fall_height where
none was taped. What is missing lies in no band.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from service.domain.layout.deck import Footing, Side, Swing
from service.domain.layout.records import PostPosition, Rail
from service.domain.layout.stair_records import HandrailMount
from service.domain.layout.system import JointKind

Values = tuple[str, ...]
LENGTH = "length"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of element.

    Attributes:
        attributes: Each attribute with its values; an empty tuple leaves the values to the system.
        has_length: True if a rule may count it by the metre or cut it from stock.
        has_area: True if a rule may count it by the square metre.
        others: Measures besides its length.
    """

    attributes: Mapping[str, Values] = field(default_factory=dict)
    has_length: bool = False
    has_area: bool = False
    others: Values = ()

    @property
    def measures(self) -> Values:
        """Every measure a rule may ask for."""
        return (LENGTH, *self.others) if self.has_length else self.others


def is_angle(measure: str) -> bool:
    """Tell whether a measure is in thousandths of a degree; the others are in nanometres.

    Example:
        >>> is_angle("turn_deg"), is_angle("length")
        (True, False)
    """
    return measure.endswith("_deg")


def thousandths(angle_deg: float) -> int:
    """Give the size of an angle as measures hold it, in thousandths of a degree.

    Example:
        >>> thousandths(-44.99999)
        45000
    """
    return round(abs(angle_deg) * 1000)


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
        others=("turn_deg", "perimeter", "base_perimeter"),
    ),
    "rail": Kind({"place": PLACES, "raked": YES_NO}, has_length=True, others=("saw_deg",)),
    "picket": Kind({"raked": YES_NO}, has_length=True),
    "joint": Kind(
        {
            "joint": tuple(joint.value for joint in JointKind),
            "angle": ("square", "angled"),
            "place": _JOINED,
            "raked": YES_NO,
            "to": ("post", "existing"),
        },
        others=("angle_deg", "rake_deg", "perimeter"),
    ),
    "section": Kind({"raked": YES_NO}, has_length=True),
    "line_post_joint": Kind(
        {"place": _JOINED, "meets": ("through", "end"), "raked": YES_NO}, others=("perimeter",)
    ),
    "support_leg": Kind({"raked": YES_NO}, has_length=True),
    "infill_rail": Kind({"raked": YES_NO}, has_length=True),
    "cable": Kind({"raked": YES_NO}, has_length=True),
    "cable_end": Kind({"raked": YES_NO}),
    "cable_pass": Kind({"at": ("line", "corner"), "raked": YES_NO}),
    "spreader": Kind({"raked": YES_NO}, has_length=True),
    "panel": Kind(
        {"stock": (), "raked": YES_NO},
        has_length=True,
        has_area=True,
        others=("height", "perimeter"),
    ),
    "clamp": Kind({"raked": YES_NO}),
    "handrail": Kind({"mount": _HANDRAIL_MOUNTS, "raked": YES_NO}, has_length=True),
    "handrail_bracket": Kind({"mount": _HANDRAIL_MOUNTS}),
    "handrail_return": Kind({"mount": _HANDRAIL_MOUNTS}, has_length=True),
    "handrail_joint": Kind({"mount": _HANDRAIL_MOUNTS}, others=("angle_deg",)),
    "handrail_end": Kind({"mount": _HANDRAIL_MOUNTS}),
    "block": Kind({"ends": ("square", "angled")}, has_length=True),
    "gate": Kind(
        {"swing": tuple(s.value for s in Swing), "hinge": tuple(s.value for s in Side)},
        has_length=True,
        others=("leaf_width", "leaf_height"),
    ),
    "stair": Kind({"bottom": _FOOTINGS}, others=("rake_deg",)),
    "run": Kind({"raked": YES_NO}, has_length=True, others=("fall_height",)),
    "deck": Kind(),
}
MEASURES = frozenset(measure for kind in KINDS.values() for measure in kind.measures)


class Element(NamedTuple):
    """One thing of the layout, or a row of equal things.

    A tuple rather than a dataclass: hundreds are made for each job, in a third of the time.

    Attributes:
        kind: A key of ``KINDS``.
        name: As the layout prints it; unique within its kind.
        attributes: Every attribute of its kind, in the order ``KINDS`` gives them.
        count: How many equal things stand behind the name.
        length_nm: Length of each one, None if its kind has none. [nm]
        section: Section it belongs to, "" for posts and the like.
        rail: The rail itself, for the saw.
        area_nm2: Area of each one, None if its kind has none. [nm2]
        others: Measures of its kind besides the length, but those that are not known. [nm], or
            thousandths of a degree
    """

    kind: str
    name: str
    attributes: Mapping[str, str]
    count: int = 1  # type: ignore[assignment]  # a tuple's own count is not used
    length_nm: int | None = None
    section: str = ""
    rail: Rail | None = None
    area_nm2: int | None = None
    others: Mapping[str, int] | None = None

    def measure(self, name: str) -> int | None:
        """Give a measure by its name, None if it is not known. [nm], or thousandths of a degree"""
        if name == LENGTH:
            return self.length_nm
        return self.others.get(name) if self.others else None


def yes(truth: bool) -> str:
    """Give the word for a flag."""
    return "yes" if truth else "no"

"""What the layout says of gates."""

from dataclasses import dataclass

from service.domain.layout.deck import Side, Swing


@dataclass(frozen=True, slots=True)
class Gate:
    """One gate with its leaf.

    Attributes:
        name: As the opening names it.
        level, edge: Where it stands; edge is the caller's number.
        hinge_post, latch_post: Posts either side.
        opening_nm: Clear between the faces of those posts. [nm]
        leaf_width_nm: The opening less the hinge and latch gaps. [nm]
        leaf_height_nm: From the bottom gap up to the top of the guard. [nm]
        swing: In, over the deck, or out.
        hinge: Side it hangs on, seen by a person walking out through it.
    """

    name: str
    level: str
    edge: int
    hinge_post: str
    latch_post: str
    opening_nm: int
    leaf_width_nm: int
    leaf_height_nm: int
    swing: Swing
    hinge: Side

"""What the layout says of cables and glass; rails as infill are cut like any rail.

Positions along a section are whole nanometres from the centre of its start post, horizontal.
Heights are above the walking surface, on a stair above the nosing line, plumb.
"""

from decimal import Decimal

from service.domain.record import record


@record(frozen=True, slots=True)
class CableRow:
    """The cables as they pass one section, and what holds them apart in it.

    Attributes:
        heights_nm: Centre of each cable, the lowest first. [nm]
        diameter_nm: [nm]
        gaps_nm: (n + 1,) clear gaps from the bottom rail up, square to the cables, at rest. [nm]
        spreaders_nm: Places of the spreaders between posts. [nm]
        spreader_length_nm: Plumb, between the rails. [nm]
    """

    heights_nm: tuple[int, ...]
    diameter_nm: int
    gaps_nm: tuple[int, ...]
    spreaders_nm: tuple[int, ...]
    spreader_length_nm: int


@record(frozen=True, slots=True)
class CableRun:
    """Equal cables from one end post to the next, each on a tensioner of its own.

    Attributes:
        start, end: Posts that take the pull.
        passes: Posts between, in order, that every cable goes through or past.
        corners: How many of those are corner posts.
        sections: Names of the sections the cables pass.
        count: How many cables.
        length_nm: Of each, face to face along the cable, plus the allowance at both ends. [nm]
    """

    name: str
    start: str
    end: str
    passes: tuple[str, ...]
    corners: int
    sections: tuple[str, ...]
    count: int
    length_nm: int
    raked: bool


@record(frozen=True, slots=True)
class Panel:
    """One pane; on a stair a parallelogram with plumb sides.

    Attributes:
        start_nm: Its edge nearest to the start post. [nm]
        width_nm: Horizontal. [nm]
        height_nm: Plumb, with what enters the rails. [nm]
        drop_nm: How far its lower and upper edges fall over its width; 0 on the level. [nm]
        mass_kg: To the gram. [kg]
        clamps: How many hold it.
        stock: Name of the supplied width, "" where it is cut to size.
    """

    name: str
    start_nm: int
    width_nm: int
    height_nm: int
    drop_nm: int
    mass_kg: Decimal
    clamps: int
    stock: str = ""

    @property
    def corners_nm(self) -> tuple[int, int, int, int]:
        """Heights of its corners above its lowest one: start bottom and top, end bottom and top.

        Example:
            >>> Panel("S1 panel 1", 0, 80, 100, 60, Decimal(1), 0).corners_nm
            (60, 160, 0, 100)
        """
        return self.drop_nm, self.drop_nm + self.height_nm, 0, self.height_nm


@record(frozen=True, slots=True)
class PanelRow:
    """The panels of a section.

    Attributes:
        panels: In order from the start post.
        gaps_nm: Clear gaps bay by bay, from post to panel to post. [nm]
        thickness_nm: [nm]
        low_nm: Height of the panels' lower edge. [nm]
    """

    panels: tuple[Panel, ...]
    gaps_nm: tuple[int, ...]
    thickness_nm: int
    low_nm: int

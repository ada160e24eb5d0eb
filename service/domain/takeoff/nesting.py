"""Which rails may share slanted cuts: those of one profile whose two sides are alike."""

from collections.abc import Sequence

from service.domain.layout.system import RailingSystem
from service.domain.takeoff.kinds import Element


def nest_depth_nm(elements: Sequence[Element], system: RailingSystem) -> int:
    """Give the depth of the profile that all elements share, 0 where no cut may be shared. [nm].

    Infill rails and handrails are parted square: nothing says that their sides are alike.
    """
    profiles = {"top": system.top_rail, "bottom": system.bottom_rail}
    found = {profiles.get(element.rail.place if element.rail else "") for element in elements}
    profile = found.pop() if len(found) == 1 else None
    return profile.depth_nm if profile is not None and profile.symmetric else 0

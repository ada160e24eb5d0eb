"""Where deck guard and stair rail meet at a top stair post, and how raked ends fit their posts.

Source: plane trigonometry; that a visible gap goes to the bottom of the post opening is common
practice, no source.
"""

import math

from service.domain.layout.frame import Frame
from service.domain.layout.records import PostPosition, Rail, Section
from service.domain.layout.stair_records import RakedFit, Transition
from service.domain.layout.stairs import fall_nm
from service.domain.layout.system import JointKind, Mount, RailingSystem
from service.domain.lengths import mm_of, snap_mm


def transitions(frame: Frame, sections: tuple[Section, ...]) -> tuple[Transition, ...]:
    """Compare the rails that meet at each top stair post with level guard on it."""
    system = frame.system
    levelled = {end.post for s in sections if s.rake is None for end in (s.start, s.end)}
    found = []
    for section in sections:
        post = frame.posts[section.start.post]
        if section.rake is None or post.position is not PostPosition.STAIR_TOP:
            continue
        if post.name not in levelled:
            continue
        # The rail's top falls from H above the nosing line; the post's lower face lies half a
        # post nearer to the nosing than its centre.
        sign = 1 if system.mount is Mount.SURFACE else -1
        inward = sign * system.set_back_nm - system.post_width_nm // 2
        stair_top = system.stair_guard_height_nm + fall_nm(section.rake, inward)
        found.append(
            Transition(
                post=post.name,
                section=section.name,
                level_top_nm=system.guard_height_nm,
                stair_top_nm=stair_top,
                step_nm=system.guard_height_nm - stair_top,
                mitre_deg=section.rake.angle_deg / 2,
            )
        )
    return tuple(found)


def raked_fits(section: Section, system: RailingSystem) -> tuple[RakedFit, ...]:
    """Say how each raked rail of a section sits in its posts; none on the level."""
    joint = system.joints.get(JointKind.STAIR)
    if section.rake is None or joint is None:
        return ()
    depths = {"top": system.top_rail.depth_nm, "bottom": system.bottom_rail.depth_nm}
    return tuple(
        RakedFit(
            rail.name,
            joint.enters_nm - section.start.gap_nm,
            rail.saw_deg,
            _gap(section, rail, depths),
        )
        for rail in section.rails
        if rail.place in depths
    )


def _gap(section: Section, rail: Rail, depths: dict[str, int]) -> int:
    """A cut face D / cos(saw) long that leans (rake - saw) off plumb leaves this at one edge."""
    if section.rake is None:
        return 0
    off = math.radians(section.rake.angle_deg - rail.saw_deg)
    face = mm_of(depths[rail.place]) / math.cos(math.radians(rail.saw_deg))
    return snap_mm(abs(face * math.sin(off)))

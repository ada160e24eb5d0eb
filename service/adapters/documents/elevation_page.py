"""One section on paper while its elevation is drawn."""

from dataclasses import dataclass

from service.adapters.documents.plan_geometry import Vector
from service.adapters.documents.primitives import (
    Layer,
    Polyline,
)
from service.adapters.documents.scales import Printed, View
from service.domain.layout.records import Layout, Post, Run, Section


@dataclass(frozen=True, slots=True)
class Elevation:
    """What the drawing of one section works with; ``lettered`` writes its facts above it."""

    layout: Layout
    section: Section
    run: Run
    view: View
    printed: Printed
    posts: dict[str, Post]
    outward: Vector
    lettered: bool = True

    def rectangle(
        self, left_nm: float, right_nm: float, low_nm: float, high_nm: float, layer: Layer
    ) -> Polyline:
        """Draw an upright rectangle; it hides what was drawn before. [nm]"""
        (left, low), (right, high) = (
            self.view.at((left_nm, low_nm)),
            self.view.at((right_nm, high_nm)),
        )
        corners = ((left, low), (right, low), (right, high), (left, high))
        return Polyline(corners, layer, closed=True, blank=True)

    def half_width(self, post: Post) -> float:
        """Give half the face width of a post. [nm]"""
        return (post.width_nm or self.layout.system.post_width_nm) / 2

    def base_nm(self, post: Post) -> int:
        """Give the height of what a post stands on over the level the run leaves from. [nm]

        A flight arrives at its lower level, whose posts are measured from their own surface.
        """
        if post.level == self.run.level or self.run.rake is None:
            return post.base_nm
        return post.base_nm - self.run.rake.rise_nm

    def support_legs(self) -> list[tuple[int, int]]:
        """Give the section's support legs: places from the start post, and heights. [nm]"""
        section = self.section
        heights = section.support_leg_heights_nm
        if not heights:
            heights = (self.layout.system.bottom_gap_nm,) * len(section.support_legs_nm)
        return list(zip(section.support_legs_nm, heights, strict=True))

    def half_leg(self) -> float:
        """Half a leg's width: a picket's, or the bottom rail's depth where there are none. [nm]"""
        system = self.layout.system
        return (system.pickets.width_nm or system.bottom_rail.depth_nm) / 2

    def faces(self) -> tuple[float, float]:
        """Give where the inner faces of the end posts stand from the start post's centre. [nm]"""
        start, end = (self.posts[e.post] for e in (self.section.start, self.section.end))
        return self.half_width(start), self.section.length_nm - self.half_width(end)

    def post_places(self) -> list[tuple[Post, int]]:
        """Give the section's posts with their centres from the start post. [nm]"""
        section = self.section
        names = [section.start.post, *section.line_posts, section.end.post]
        places = [0, *section.line_posts_nm, section.length_nm]
        return [(self.posts[name], at) for name, at in zip(names, places, strict=True)]

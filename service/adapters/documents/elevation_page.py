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
    """What the drawing of one section works with."""

    layout: Layout
    section: Section
    run: Run
    view: View
    printed: Printed
    posts: dict[str, Post]
    outward: Vector

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

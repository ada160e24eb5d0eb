"""The frame of the job while it grows: posts, runs and the sections between them, by name.

A span here is a section before its joints are known: which posts it goes between, where its line
posts and pickets fall. The order of installation then decides its joints and so its cut lengths.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from service.domain.errors import UnbuildableLayout, Where
from service.domain.layout.advised import at_least
from service.domain.layout.choice_records import Preference, RunChoice
from service.domain.layout.deck import Point
from service.domain.layout.division import Division
from service.domain.layout.records import ClearOpening, Post, PostPosition, Rake, Run
from service.domain.layout.stations import Key, StairRole
from service.domain.layout.system import PostStock, RailingSystem
from service.domain.lengths import mm_of
from service.domain.record import record


@record(frozen=True, slots=True)
class Flight:
    """The treads under a raked span.

    Attributes:
        unit_run_nm: Nosing to nosing, horizontal; the first nosing is the top one. [nm]
        treads: How many treads there are below the top nosing.
        start_nm: Horizontal distance of the span's start post from the top nosing. [nm]
    """

    unit_run_nm: int
    treads: int
    start_nm: int


@record(frozen=True, slots=True)
class Span:
    """A section before its joints are known.

    Attributes:
        picket_faces_nm: From the start and end post centres to their faces on the centre line.
        rail_faces_nm: The same to where a square-cut rail of full width would touch. [nm]
        angles_deg: Angle between rail and post face normal at each end. [deg]
    """

    run: str
    start: str
    end: str
    line_posts: tuple[str, ...]
    division: Division
    picket_faces_nm: tuple[int, int]
    rail_faces_nm: tuple[int, int]
    angles_deg: tuple[float, float]
    rake: Rake | None = None
    flight: Flight | None = None


@record(frozen=True, slots=True)
class SpanChain:
    """Spans that follow each other; closed when the last meets the first post."""

    level: str
    spans: tuple[Span, ...]
    closed: bool


@dataclass
class Frame:
    """Collects the job as it is laid out."""

    system: RailingSystem
    preference: Preference = field(default_factory=Preference)
    choices: list[RunChoice] = field(default_factory=list)
    posts: dict[str, Post] = field(default_factory=dict)
    runs: list[Run] = field(default_factory=list)
    chains: list[SpanChain] = field(default_factory=list)
    stair_spans: list[Span] = field(default_factory=list)
    openings: list[ClearOpening] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    stair_posts: dict[StairRole, str] = field(default_factory=dict)
    inward_nm: dict[str, int] = field(default_factory=dict)  # post line of each level
    stood: dict[tuple[str, Key], str] = field(default_factory=dict)  # by level and station

    def add_post(
        self,
        position: PostPosition,
        at: Point,
        *,
        level: str,
        edge: int,
        axis_deg: float,
        turn_deg: float = 0.0,
        surface: str = "deck",
        base_nm: int = 0,
        rail_top_nm: int,
        stair: str = "",
        width_nm: int = 0,
        where: Where = (),
    ) -> str:
        """Name a post, find its height and the stock it is cut from.

        Args:
            position: Where it stands in the railing.
            at: Plan position of its centre. [nm]
            rail_top_nm: Highest rail top that meets it, above what it stands on. [nm]
            level, edge, stair, axis_deg, turn_deg, surface, base_nm: See ``records.Post``.
            width_nm: Its own width, if it is not the system's post. [nm]
            where: Place in the request that asked for it.

        Raises:
            UnbuildableLayout: No supplied post is high enough.
        """
        name = f"P{len(self.posts) + 1}"
        height_nm = rail_top_nm + self.system.post_above_rail_nm
        if surface == "fascia":
            height_nm += self.system.fascia_drop_nm
        stock = ""
        if position is not PostPosition.EXISTING:
            stock = self._stock_for(name, height_nm, where)
        self.posts[name] = Post(
            name=name,
            position=position,
            at=at,
            axis_deg=axis_deg,
            turn_deg=turn_deg,
            surface=surface,
            base_nm=base_nm,
            height_nm=height_nm,
            stock=stock,
            level=level,
            edge=edge,
            stair=stair,
            width_nm=width_nm or self.system.post_width_nm,
        )
        return name

    def raise_post(self, name: str, rail_top_nm: int, where: Where = ()) -> None:
        """Make a post that stands on the deck high enough for one more rail."""
        post = self.posts[name]
        height_nm = rail_top_nm + self.system.post_above_rail_nm
        if post.surface == "fascia":
            height_nm += self.system.fascia_drop_nm
        if height_nm > post.height_nm:
            stock = self._stock_for(name, height_nm, where) if post.stock else ""
            self.posts[name] = replace(post, height_nm=height_nm, stock=stock)

    def reinforce(self, name: str, where: Where = ()) -> None:
        """Cut a post from the stock kept for gate posts, where the system has one."""
        post, gates = self.posts[name], self.system.gates
        if gates is not None and gates.post_stock and post.stock:
            kept = [stock for stock in self.system.posts if stock.name == gates.post_stock]
            self.posts[name] = replace(post, stock=_shortest(kept, name, post.height_nm, where))

    def _stock_for(self, name: str, height_nm: int, where: Where) -> str:
        kept = self.system.gates.post_stock if self.system.gates else ""
        ordinary = [stock for stock in self.system.posts if stock.name != kept]
        return _shortest(ordinary or self.system.posts, name, height_nm, where)


def _shortest(stocks: Sequence[PostStock], name: str, height_nm: int, where: Where) -> str:
    """Choose the shortest supplied post that is high enough."""
    for stock in sorted(stocks, key=lambda stock: (stock.height_nm, stock.name)):
        if stock.height_nm >= height_nm:
            return stock.name
    tallest = max(stock.height_nm for stock in stocks)
    raise UnbuildableLayout(
        f"post {name} must be {mm_of(height_nm):.1f} mm high; the tallest the system supplies "
        f"for it is {mm_of(tallest):.1f} mm",
        element=name,
        where=where or ("system", "post", "stock"),
        advice=f"List a post stock of at least {at_least(height_nm)}.",
    )


def clear_openings(
    element: str,
    obstacles: Sequence[tuple[int, int, bool]],
    *,
    on_stair: bool,
) -> list[ClearOpening]:
    """Give the widest opening between pickets, and the widest beside a post.

    Args:
        element: Name of the section.
        obstacles: (n, 3) left face, right face [nm], and whether it is a post, in order.
        on_stair: Whether the section rakes on the open side of a stair.
    """
    widest: dict[str, int] = {}
    for (_, right, post), (left, _, other_post) in pairwise(obstacles):
        place = "picket to post" if post or other_post else "between pickets"
        widest[place] = max(widest.get(place, 0), left - right)
    return [ClearOpening(element, place, clear, on_stair) for place, clear in widest.items()]

"""The order of installation, and the joints that follow from it.

The first post of a chain stands alone: the top stair post if there is one, so that deck guard and
stair rail meet in line, else an existing post, else the first end. Each next section comes with
the posts at its far end and inside it; its near end is joined to the post that stands. The last
section of a closed chain, or one that reaches an existing post, is joined at both ends. Stair
rails come last, set between posts that stand.

Source: common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.layout.frame import Frame, Span, SpanChain
from service.domain.layout.records import Post, PostPosition, RailEnd, Step
from service.domain.layout.system import Assembly, JointKind
from service.domain.record import record

# Where a post may stand by itself; a stair's other posts stand in line with its top one.
LONE = frozenset({PostPosition.STAIR_TOP, PostPosition.GATE, PostPosition.END, PostPosition.CORNER})
START_RANK = {PostPosition.STAIR_TOP: 0, PostPosition.EXISTING: 1}


@record(frozen=True, slots=True)
class Placing:
    """A span with its joints: what the order of installation adds to it."""

    name: str
    span: Span
    start: RailEnd
    end: RailEnd
    carries: tuple[str, ...]


@dataclass
class _Sequence:
    """Walks the job once, remembering which posts stand."""

    frame: Frame

    def __post_init__(self) -> None:
        posts = self.frame.posts.values()
        self.standing = {p.name for p in posts if p.position is PostPosition.EXISTING}
        self.steps: list[Step] = []
        self.placings: dict[int, Placing] = {}
        self.prefabricated = self.frame.system.assembly is Assembly.PREFABRICATED

    def step(
        self, element: str, text: str, joins: tuple[str, ...] = (), carries: tuple[str, ...] = ()
    ) -> None:
        self.steps.append(Step(len(self.steps) + 1, element, text, joins, carries))

    def stand(self, name: str, why: str) -> None:
        if name not in self.standing:
            self.standing.add(name)
            self.step(name, f"Stand {name} plumb on {_footing(self.frame.posts[name])}: {why}.")

    def chain(self, chain: SpanChain, names: dict[int, str]) -> None:
        spans = chain.spans
        if not self.prefabricated:
            for name in _posts_of(spans):
                self.stand(name, "rails are cut between posts that stand")
        forward = chain.closed or _rank(self.frame, spans[0].start) <= _rank(
            self.frame, spans[-1].end
        )
        first = spans[0].start if forward else spans[-1].end
        self.stand(first, _reason(self.frame.posts[first]))
        for span in spans if forward else reversed(spans):
            self.section(span, names[id(span)], forward=forward)

    def section(self, span: Span, name: str, *, forward: bool) -> None:
        near, far = (span.start, span.end) if forward else (span.end, span.start)
        order = span.line_posts if forward else tuple(reversed(span.line_posts))
        carries = tuple(p for p in (*order, far) if p not in self.standing)
        kinds = {p: self._kind(p) for p in (near, far)}
        joins = tuple(p for p in (near, far) if p in self.standing)
        self.placings[id(span)] = Placing(
            name,
            span,
            RailEnd(span.start, kinds[span.start], span.angles_deg[0]),
            RailEnd(span.end, kinds[span.end], span.angles_deg[1]),
            carries,
        )
        self.step(name, self._words(name, joins, carries), joins, carries)
        self.standing.update(carries)

    def _kind(self, post: str) -> JointKind:
        if not self.prefabricated:
            return JointKind.BRACKET
        return JointKind.SLEEVE if post in self.standing else JointKind.FIXED

    def _words(self, name: str, joins: tuple[str, ...], carries: tuple[str, ...]) -> str:
        joint = "sleeves" if self.prefabricated else "brackets"
        words = f"Join {name} to {' and '.join(joins)} with {joint}"
        if carries:
            words += f"; it brings {', '.join(carries)}"
            tops = [p for p in carries if self.frame.posts[p].position is PostPosition.STAIR_TOP]
            words += f". Check {' and '.join(carries)} plumb"
            words += " and in line with the stair before fixing" if tops else " before fixing"
        elif len(joins) == 2 and self.prefabricated:
            words += ": lower it in between both"
        return words + "."

    def stair_span(self, span: Span, name: str) -> None:
        ends = (RailEnd(span.start, JointKind.STAIR), RailEnd(span.end, JointKind.STAIR))
        self.placings[id(span)] = Placing(name, span, *ends, ())
        joins = (span.start, span.end)
        self.step(name, f"Set stair rail {name} between {span.start} and {span.end}.", joins)


def install(frame: Frame) -> tuple[tuple[Placing, ...], tuple[Step, ...]]:
    """Put the job in order of installation.

    Returns:
        The placings in the order of the sections' names, and the steps.
    """
    sequence = _Sequence(frame)
    spans = [span for chain in frame.chains for span in chain.spans] + frame.stair_spans
    names = {id(span): f"S{number}" for number, span in enumerate(spans, 1)}
    for chain in sorted(frame.chains, key=lambda chain: _chain_rank(frame, chain)):
        sequence.chain(chain, names)
    for post in frame.posts.values():
        if post.position in LONE:
            sequence.stand(post.name, "no deck guard meets it")
    for span in frame.stair_spans:
        for name in (span.start, span.end):
            sequence.stand(name, "in line with the top stair post; check before drilling")
    for span in frame.stair_spans:
        sequence.stair_span(span, names[id(span)])
    return tuple(sequence.placings[id(span)] for span in spans), tuple(sequence.steps)


def _posts_of(spans: tuple[Span, ...]) -> Iterator[str]:
    for span in spans:
        yield from (span.start, *span.line_posts, span.end)


def _rank(frame: Frame, post: str) -> int:
    return START_RANK.get(frame.posts[post].position, 2)


def _chain_rank(frame: Frame, chain: SpanChain) -> int:
    return min(_rank(frame, chain.spans[0].start), _rank(frame, chain.spans[-1].end))


def _reason(post: Post) -> str:
    if post.position is PostPosition.STAIR_TOP:
        return "the work starts at the top stair post so that deck guard and stair rail meet"
    return "the work starts here"


def _footing(post: Post) -> str:
    if post.surface == "fascia" and post.base_nm:
        return "the stair's side"
    return {"deck": "the deck", "fascia": "the fascia", "tread": "its tread"}.get(
        post.surface, f"the {post.surface}"
    )

"""One sheet for a whole layout: plans above, elevations below, legend and title block.

The sheet is as wide as an A3 sheet lies (or a tabloid one in imperial), wider for a plan that
would be too small to letter, and as high as its content asks; lettering is sized to be read at
arm's length at full size.
"""

from collections.abc import Callable, Iterator, Sequence

from service.adapters.documents.elevation_drawing import draw_elevation
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.extents import bounds, wrapped
from service.adapters.documents.handrail_drawing import draw_handrail, walled_handrails
from service.adapters.documents.infill_drawing import infill_fact
from service.adapters.documents.labels import LARGE, MEDIUM, SMALL
from service.adapters.documents.legend import legend
from service.adapters.documents.picture import Picture, picture_of
from service.adapters.documents.plan_drawing import draw_plan
from service.adapters.documents.plan_geometry import (
    by_edge,
    depth_beyond,
    edge_lines,
    moved_point,
    run_outward,
)
from service.adapters.documents.plan_groups import plans_of
from service.adapters.documents.primitives import (
    Anchor,
    Drawing,
    Group,
    Layer,
    Line,
    Polyline,
    Shape,
    Text,
    moved,
)
from service.adapters.documents.scales import Printed, Scale, View, bar_steps, largest_scale
from service.adapters.documents.stair_elevation import draw_stair_elevation
from service.domain.layout.deck import Level
from service.domain.layout.records import Layout
from service.domain.lengths import INCH

CAUTION = (
    "Lengths follow from the taped dimensions: measure again on site before anything is cut. "
    "A drawing is no approval; the system's instructions, the local code official and a licensed "
    "engineer decide."
)
MARGIN = 12.0
_GAP = 12.0
METRIC_SHEETS = ((420.0, 297.0), (594.0, 420.0), (841.0, 594.0), (1189.0, 841.0))  # ISO 216
IMPERIAL_SHEETS = tuple(
    (wide * 25.4, tall * 25.4) for wide, tall in ((17, 11), (22, 17), (34, 22), (44, 34))
)  # ASME Y14.1 sizes B to E, from memory
_SMALLEST_PLAN = 100
_AROUND_PLAN = 54.0  # room for dimension rows on both sides
_AROUND_ELEVATION = 42.0  # room for heights and end gaps on both sides
_FEW = 8  # up to so many sections the longest may take the whole width of the sheet
_SMALLEST_ELEVATION = 50
# Past these, elevations are left out and the sheet says so.
MOST_SECTIONS = 300
MOST_PICKETS = 12_000


def compose(
    layout: Layout, units: str, printed: Printed, reference: str = "", cautions: Sequence[str] = ()
) -> Drawing:
    """Compose the sheet of a layout.

    Args:
        layout: What to draw.
        units: "imperial" or "metric": scales and sheet width follow.
        printed: Prints a length for people.
        reference: The caller's own words for the job, may be "".
        cautions: Sentences for the title block; the standing one if none are given.
    """
    grouped = plans_of(layout)
    width, plan_scale = _sheet_and_scale(layout, grouped, units)
    room = width - 2 * MARGIN
    groups: list[Group] = []
    y = MARGIN + 8.0
    groups.append(_heading("plan-heading", "Plan", plan_scale, y, width, units))
    plans = [picture_of(draw_plan(layout, levels, plan_scale, printed)) for levels in grouped]
    placed, y = _flow(plans, y + 8.0, room)
    groups += placed
    key = legend(layout, MARGIN, y + 4.0, room)
    groups.append(key)
    y = max(y + 16.0, bounds(key.shapes).bottom + 8.0)
    scale = _elevation_scale(layout, units, room)
    sections = list(elevations(layout, scale, printed))
    drawn = sections + list(handrail_elevations(layout, scale, printed))
    if drawn:
        groups.append(_heading("elevation-heading", "Elevations", scale, y + 6.0, width, units))
        placed, y = _flow(drawn, y + 14.0, room)
        groups += placed
    left_out = len(layout.sections) - len(sections)
    block, y = _title_block(layout, units, reference, cautions or (CAUTION,), left_out, y, width)
    frame = Polyline(
        ((6.0, 6.0), (width - 6.0, 6.0), (width - 6.0, y), (6.0, y)), Layer.FRAME, closed=True
    )
    groups += [block, Group("frame", "Frame of the sheet", (frame,))]
    title = "Guard plan and elevations" + (f": {reference}" if reference else "")
    return Drawing(width, y + 6.0, title, _described(layout, printed), tuple(groups))


def _extent(layout: Layout, levels: Sequence[Level], scale: Scale) -> tuple[float, float]:
    """Estimate a plan on paper, with room for its stairs and dimensions. [mm]"""
    lines = [line for level in levels for line in edge_lines(level)]
    points: list[tuple[float, float]] = [(float(x), float(y)) for x, y in
                                         (line.start for line in lines)]  # fmt: skip
    for line in lines:
        depth = depth_beyond(layout, line)
        points += [moved_point(end, (line.outward, depth)) for end in (line.start, line.end)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    wide, tall = scale.paper(max(xs) - min(xs)), scale.paper(max(ys) - min(ys))
    return wide + _AROUND_PLAN, tall + _AROUND_PLAN


def _sheet_and_scale(
    layout: Layout, grouped: Sequence[Sequence[Level]], units: str
) -> tuple[float, Scale]:
    """Take the smallest sheet on which the plans are large enough to letter."""
    sizes = IMPERIAL_SHEETS if units == "imperial" else METRIC_SHEETS
    for width, height in sizes:
        room, tall = width - 2 * MARGIN, height - 27.0

        def fits(scale: Scale, room: float = room, tall: float = tall) -> bool:
            return _plans_fit(layout, grouped, scale, room, tall)

        scale = largest_scale(units, fits, 20)
        if scale.ratio <= _SMALLEST_PLAN:
            break
    return width, scale


def _plans_fit(
    layout: Layout, grouped: Sequence[Sequence[Level]], scale: Scale, room: float, tallest: float
) -> bool:
    sizes = [_extent(layout, levels, scale) for levels in grouped]
    return all(wide <= room and tall <= tallest for wide, tall in sizes) and (
        sum(wide for wide, _ in sizes) <= room * max(1, (len(sizes) + 1) // 2)
    )


def _elevation_scale(layout: Layout, units: str, room: float) -> Scale:
    """Take a scale at which the longest section fits the sheet: half of it where there are many."""
    lengths = [section.length_nm for section in layout.sections]
    lengths += [rail.end_nm + rail.top_extension_nm for rail in walled_handrails(layout)] or [INCH]
    largest = 20 if units == "metric" else 16

    def fits(width: float) -> Callable[[Scale], bool]:
        return lambda scale: scale.paper(max(lengths)) + _AROUND_ELEVATION <= width

    half = largest_scale(units, fits(room / 2), largest)
    if len(lengths) > _FEW and half.ratio <= _SMALLEST_ELEVATION:
        return half
    return largest_scale(units, fits(room), largest)


def elevations(layout: Layout, scale: Scale, printed: Printed) -> Iterator[Picture]:
    """Draw every section at one scale, as far as the bounds of a drawing allow."""
    runs = {run.name: run for run in layout.runs}
    posts = {post.name: post for post in layout.posts}
    lines = by_edge(line for level in layout.deck.levels for line in edge_lines(level))
    sides = {run.name: run_outward(layout, lines, run) for run in layout.runs}
    pickets = 0
    for section in layout.sections[:MOST_SECTIONS]:
        pickets += len(section.pickets.centres_nm)
        if pickets > MOST_PICKETS:
            return
        run = runs[section.run]
        elevation = Elevation(layout, section, run, View(scale), printed, posts, sides[section.run])
        draw = draw_elevation if section.rake is None else draw_stair_elevation
        yield draw(elevation)


def handrail_elevations(layout: Layout, scale: Scale, printed: Printed) -> Iterator[Picture]:
    """Draw every handrail that no section shows."""
    for rail in walled_handrails(layout)[:MOST_SECTIONS]:
        drawn = draw_handrail(layout, rail, View(scale), printed)
        if drawn is not None:
            yield drawn


def _flow(panels: Sequence[Picture], top: float, room: float) -> tuple[list[Group], float]:
    """Place panels in rows of a grid of halves, thirds, ... of the sheet's width."""
    rows: list[list[tuple[Picture, float, float]]] = []
    x = room + 1.0
    for panel in panels:
        cell = _cell(panel.box.width, room)
        if x + cell > room + 0.01:
            rows.append([])
            x = 0.0
        rows[-1].append((panel, x, cell))
        x += cell
    groups: list[Group] = []
    for row in rows:
        for panel, x, _ in row:
            by = (MARGIN + x - panel.box.left, top - panel.box.top)
            groups += [moved(group, by) for group in panel.groups]
        top += max(panel.box.height for panel, _, _ in row) + _GAP
    return groups, top


def _cell(width: float, room: float) -> float:
    parts = next((n for n in range(int(room / 100.0), 1, -1) if width + _GAP <= room / n), 1)
    return room / parts


def _heading(id_: str, text: str, scale: Scale, y: float, width: float, units: str) -> Group:
    """Letter a part's name with its scale, a rule, and a scale bar at the right."""
    part_nm, figures = bar_steps(scale, units, 90.0)
    part = scale.paper(part_nm)
    left = width - MARGIN - 4 * part - 8.0
    sheet = f"{width / 25.4:g} in" if units == "imperial" else f"{width:g} mm"
    shapes: list[Shape] = [
        Text((MARGIN, y), text, LARGE + 1.0, bold=True),
        Text((MARGIN + 46.0, y), f"scale {scale.text} on a sheet {sheet} wide", MEDIUM),
        Line((MARGIN, y + 2.6), (width - MARGIN, y + 2.6), Layer.FRAME),
    ]
    for i in range(4):
        a, b = left + i * part, left + (i + 1) * part
        box = ((a, y - 1.6), (b, y - 1.6), (b, y), (a, y))
        shapes.append(Polyline(box, Layer.DIMENSION, closed=True, solid=i % 2 == 0))
    shapes += [
        Text((left + i * part, y - 2.6), figure, SMALL, Anchor.MIDDLE)
        for i, figure in enumerate(figures)
    ]
    return Group(id_, f"{text}, scale {scale.text}", tuple(shapes))


def _title_block(
    layout: Layout,
    units: str,
    reference: str,
    cautions: Sequence[str],
    left_out: int,
    top: float,
    width: float,
) -> tuple[Group, float]:
    """Letter the title block at the foot of the sheet; give it and the sheet's new foot."""
    shapes: list[Shape] = [Line((6.0, top), (width - 6.0, top), Layer.FRAME)]
    shapes.append(Text((MARGIN, top + 9.0), "Evenbay", 7.0, bold=True))
    shapes.append(Text((MARGIN, top + 15.0), "guards laid out even", SMALL))
    left, y = MARGIN + 52.0, top + 6.0
    facts = [f"Job: {reference[:80]}"] if reference else []
    handrails = f", {len(layout.handrails)} handrails" if layout.handrails else ""
    facts.append(
        f"System: {layout.system.name[:60]}. {len(layout.posts)} posts, "
        f"{len(layout.sections)} sections{handrails}. Lengths "
        + ("in feet and inches." if units == "imperial" else "in millimetres.")
    )
    facts.append(
        "Numbers and dimensions that have no room in the plan are given by the elevations."
    )
    if left_out:
        facts.append(f"{left_out} further sections are not drawn here; the layout lists them.")
    for sentence in (*facts, " ".join(cautions)):
        for line in wrapped(sentence, SMALL, width - MARGIN - left):
            shapes.append(Text((left, y), line, SMALL))
            y += SMALL * 1.45
    return Group("title-block", "Title block", tuple(shapes)), max(y, top + 19.0)


def _described(layout: Layout, printed: Printed) -> str:
    """Say in words what the picture shows, for those who cannot see it."""
    said = [
        f"{len(layout.deck.levels)} level(s), {len(layout.stairs)} stair(s), "
        f"{len(layout.posts)} posts, {len(layout.sections)} sections."
    ]
    for section in layout.sections[:60]:
        filled = infill_fact(section, printed) or f"{len(section.pickets.centres_nm)} pickets."
        said.append(
            f"{section.name} from {section.start.post} to {section.end.post}: "
            f"{printed(section.length_nm)} centre to centre, {filled}"
        )
    if len(layout.sections) > 60:
        said.append(f"And {len(layout.sections) - 60} sections more.")
    return " ".join(said)

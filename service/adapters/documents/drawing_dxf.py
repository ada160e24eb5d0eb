"""Renders a layout as DXF R2010: plans and elevations in model space, in real units.

The first plan keeps the coordinates of the deck as it was taped; further plans stand to its right
and elevations in rows below. Lettering is as high as on a print at 1:20, or 1:24 in inches. Each
element is a named group. The same bytes for the same layout: the drawing's dates and GUIDs are
fixed, and its handles are counted from the same start.
"""

import io
from collections.abc import Iterable, Iterator, Sequence

import ezdxf
from ezdxf.document import Drawing
from ezdxf.filemanagement import new
from ezdxf.units import IN, MM

from service.adapters.documents.drawing_sheet import CAUTION, elevations, handrail_elevations
from service.adapters.documents.dxf_sketch import LAYERS, Sketch, line_type, line_weight
from service.adapters.documents.extents import wrapped
from service.adapters.documents.labels import MEDIUM
from service.adapters.documents.pens import PENS
from service.adapters.documents.picture import Picture, picture_of
from service.adapters.documents.plan_drawing import draw_plan
from service.adapters.documents.plan_groups import plans_of
from service.adapters.documents.primitives import (
    Group,
    PaperPoint,
    Text,
)
from service.adapters.documents.scales import Scale
from service.domain.layout.records import Layout
from service.quantities import length_text
from service.usecases.orders import Units

# The only way in which ezdxf leaves the clock out of what it writes; nothing else here writes DXF.
ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]

_SCALES = {Units.METRIC: Scale(20, "1:20"), Units.IMPERIAL: Scale(24, '1/2" = 1\'-0"')}
_UNITS = {Units.METRIC: (MM, 1.0, 2, 1), Units.IMPERIAL: (IN, 25.4, 4, 0)}
_GAP, _ROOM = 20.0, 420.0  # between pictures, and least width of their rows, as on paper [mm]


def render(
    layout: Layout, units: str, *, reference: str = "", cautions: Iterable[str] = ()
) -> bytes:
    """Draw a layout as DXF.

    Args:
        layout: What to draw.
        units: "imperial" for inches or "metric" for millimetres.
        reference: The caller's own words for the job.
        cautions: Sentences below the drawing; the standing one if none are given.
    """
    system = Units(units)
    scale = _SCALES[system]
    pictures = list(_pictures(layout, system, scale))
    notes = [reference, *(cautions or (CAUTION,))]
    placed = [*_placed(pictures), _notes(pictures, [note for note in notes if note])]
    document = _new(system, scale)
    sketch = Sketch(document, scale.ratio / _UNITS[system][1])
    for picture, offset in placed:
        for group in picture.groups:
            sketch.draw(group, offset)
    sketch.frame([(picture.box, offset) for picture, offset in placed])
    return _written(document)


def _pictures(layout: Layout, units: Units, scale: Scale) -> Iterator[tuple[Picture, bool]]:
    """Draw plans, then elevations; the flag tells plans."""

    def printed(length_nm: int) -> str:
        return length_text(length_nm, units)

    for levels in plans_of(layout):
        yield picture_of(draw_plan(layout, levels, scale, printed)), True
    for picture in (
        *elevations(layout, scale, printed),
        *handrail_elevations(layout, scale, printed),
    ):
        yield picture, False


def _placed(pictures: Sequence[tuple[Picture, bool]]) -> Iterator[tuple[Picture, PaperPoint]]:
    """Place plans side by side, the first where it is, and elevations in rows below them."""
    plans = [picture for picture, plan in pictures if plan]
    right, foot = 0.0, 0.0
    for i, picture in enumerate(plans):
        shift = 0.0 if i == 0 else right + _GAP - picture.box.left
        yield picture, (shift, 0.0)
        right, foot = picture.box.right + shift, max(foot, picture.box.bottom)
    left = plans[0].box.left if plans else 0.0
    room = max(right - left, _ROOM, *(picture.box.width for picture, _ in pictures))
    x, top, row_foot = left, foot + _GAP, foot + _GAP
    for picture, plan in pictures:
        if plan:
            continue
        if x > left and x + picture.box.width > left + room:
            x, top = left, row_foot + _GAP
        yield picture, (x - picture.box.left, top - picture.box.top)
        x += picture.box.width + _GAP
        row_foot = max(row_foot, top + picture.box.height)


def _notes(
    pictures: Sequence[tuple[Picture, bool]], sentences: Sequence[str]
) -> tuple[Picture, PaperPoint]:
    """Letter the notes above everything."""
    top = min((picture.box.top for picture, plan in pictures if plan), default=0.0)
    left = min((picture.box.left for picture, plan in pictures if plan), default=0.0)
    lines = [line for sentence in sentences for line in wrapped(sentence, MEDIUM, _ROOM)]
    first = top - _GAP - len(lines) * 2 * MEDIUM
    texts = [Text((left, first + i * 2 * MEDIUM), line, MEDIUM) for i, line in enumerate(lines)]
    return picture_of([Group("notes", "Notes", tuple(texts))]), (0.0, 0.0)


def _new(units: Units, scale: Scale) -> Drawing:
    """Open a drawing with its units, layers, lines and lettering."""
    code, millimetres, linear, metric = _UNITS[units]
    document = new("R2010")
    document.units = code
    document.header["$LUNITS"] = linear
    document.header["$MEASUREMENT"] = metric
    document.styles.new("LETTERING", dxfattribs={"font": "arial.ttf"})
    for layer, (_, dashes) in PENS.items():
        if dashes:
            lengths = [dash * scale.ratio / millimetres for dash in dashes]
            signed = [length if i % 2 == 0 else -length for i, length in enumerate(lengths)]
            document.linetypes.add(line_type(layer), [sum(lengths), *signed])
    for layer, name in LAYERS.items():
        if name not in document.layers:
            document.layers.add(name, lineweight=line_weight(layer))
    return document


def _written(document: Drawing) -> bytes:
    """Write the drawing; ezdxf would list its classes in the order of a set, each time another."""
    classes = document.classes
    classes.add_required_classes(document.dxfversion)
    classes.classes = dict(sorted(classes.classes.items()))
    held = io.StringIO(newline="\r\n")
    document.write(held)
    return document.encode(held.getvalue())

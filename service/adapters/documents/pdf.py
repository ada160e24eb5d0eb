"""Sets a sheet as a PDF: the same bytes for the same sheet, fonts embedded, tagged.

Pages are set by our own strips and not by reportlab's page templates, which can neither mark what
they draw for those who hear it nor hold rows together; reportlab writes fonts, pages and file.
"""

from collections.abc import Iterable
from io import BytesIO
from itertools import groupby

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from service.adapters.documents.letters import POINT, Face, broken, cut, fonts, printable, width
from service.adapters.documents.paging import Page, paged
from service.adapters.documents.pdf_ink import Pencil
from service.adapters.documents.pdf_tags import TagWriter
from service.adapters.documents.setting import MARGIN, RUNNING, Setter
from service.adapters.documents.setting_head import letterhead_strips
from service.adapters.documents.sheet import Sheet
from service.adapters.documents.strips import Art, Ink, Letters, Logo, Rule, Shade, Strip, Tag

_FOOT = 7.5  # letter size of the running head and the foot [pt]
_GREY = 0.92
_CREATOR = "Evenbay"
_NO_DAY = "20000101"


def render(sheet: Sheet) -> bytes:
    """Set a sheet on pages."""
    fonts()
    setter = Setter(sheet)
    return _Press(sheet, setter).printed(_set(sheet, setter))


def pages_of(sheet: Sheet) -> list[Page]:
    """Give the pages of a sheet before they are written."""
    return _set(sheet, Setter(sheet))


def _set(sheet: Sheet, setter: Setter) -> list[Page]:
    strips = [*letterhead_strips(sheet, setter), *setter.strips(sheet.blocks)]
    return paged(strips, setter.tall + RUNNING, setter.tall)


class _Press:
    """One document being printed."""

    def __init__(self, sheet: Sheet, setter: Setter) -> None:
        self.sheet, self.setter = sheet, setter
        self.wide, self.high = sheet.paper.value
        self.file = BytesIO()
        self.canvas = Canvas(
            self.file,
            pagesize=(self.wide / POINT, self.high / POINT),
            invariant=1,
            pageCompression=1,
            pdfVersion=(1, 7),
            lang=sheet.language,
            initialFontName=str(Face.PLAIN),
        )
        self.tags = TagWriter(self.canvas)

    def printed(self, pages: list[Page]) -> bytes:
        canvas, sheet = self.canvas, self.sheet
        canvas.setTitle(printable(sheet.title))
        canvas.setAuthor(printable(sheet.author))
        canvas.setSubject(printable(sheet.subject))
        canvas.setCreator(_CREATOR)
        # No clock: who looks into the file finds the day of what it says.
        made = sheet.made_on.replace("-", "") or _NO_DAY
        canvas.setDateFormatter(lambda *_now: f"D:{made}000000Z")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        for number, page in enumerate(pages, start=1):
            if number > 1:
                self.tags.turn()
            self._page(page, number, len(pages))
            canvas.showPage()
        self.tags.write(self.setter.root)
        canvas.save()
        return self.file.getvalue()

    def _page(self, page: Page, number: int, count: int) -> None:
        top = self.high - MARGIN - (RUNNING if number > 1 else 0.0)
        for strip, down in page:
            self._bookmark(strip, top - down)
            for tag, inks in groupby(strip.inks, _tag):
                with self.tags.marked(tag):
                    self._inks(inks, top - down)
        with self.tags.marked(None):
            self._around(number, count)

    def _bookmark(self, strip: Strip, y: float) -> None:
        if strip.bookmark is None or strip.bookmark[0] > 2:
            return
        level, text = strip.bookmark
        key = f"{self.canvas.getPageNumber()}-{y:.2f}"
        self.canvas.bookmarkHorizontal(key, 0, (y + 2.0) / POINT)
        self.canvas.addOutlineEntry(text, key, level - 1)

    def _inks(self, inks: Iterable[Ink], top: float) -> None:
        for ink in inks:
            if isinstance(ink, Letters):
                # A word ends where its line does: who hears or copies it knows by a space alone.
                text = f"{ink.text} " if ink.tag else ink.text
                self._letters(MARGIN + ink.x, top - ink.y, text, ink.size, ink.face)
            elif isinstance(ink, Rule):
                self._rule(ink, top)
            elif isinstance(ink, Shade):
                self._shade(ink, top)
            elif isinstance(ink, Art):
                self._art(ink, top)
            else:
                self._logo(ink, top)

    def _letters(self, x: float, y: float, text: str, size: float, face: Face) -> None:
        self.canvas.setFont(str(face), size)
        self.canvas.drawString(x / POINT, y / POINT, text)

    def _rule(self, rule: Rule, top: float) -> None:
        (x1, y1), (x2, y2) = rule.start, rule.end
        self.canvas.setLineWidth(rule.weight / POINT)
        ends = (MARGIN + x1, top - y1, MARGIN + x2, top - y2)
        self.canvas.line(*(end / POINT for end in ends))

    def _shade(self, shade: Shade, top: float) -> None:
        box = shade.box
        sides = (MARGIN + box.left, top - box.bottom, box.width, box.height)
        self.canvas.setFillGray(_GREY)
        self.canvas.rect(*(side / POINT for side in sides), stroke=0, fill=1)
        self.canvas.setFillGray(0)

    def _art(self, art: Art, top: float) -> None:
        self.canvas.saveState()
        if art.clip:
            box = art.clip
            path = self.canvas.beginPath()
            sides = (MARGIN + box.left, top - box.bottom, box.width, box.height)
            path.rect(*(side / POINT for side in sides))
            self.canvas.clipPath(path, stroke=1, fill=0)
        Pencil(self.canvas, MARGIN + art.x, top - art.y, art.magnified).draw(art.groups)
        self.canvas.restoreState()

    def _logo(self, logo: Logo, top: float) -> None:
        box = logo.box
        image = ImageReader(BytesIO(logo.content))
        sides = [side / POINT for side in (MARGIN + box.left, top - box.bottom)]
        size = {"width": box.width / POINT, "height": box.height / POINT}
        self.canvas.drawImage(image, *sides, mask="auto", **size)

    def _around(self, number: int, count: int) -> None:
        """Letter the running head and the foot."""
        room = self.wide - 2 * MARGIN
        if number > 1:
            head = cut(self.sheet.running, _FOOT, room)
            self._letters(MARGIN, self.high - MARGIN - 2.0, head, _FOOT, Face.PLAIN)
            self._rule(Rule((0.0, 0.0), (room, 0.0), 0.15), self.high - MARGIN - 4.0)
        counted = f"page {number} of {count}"
        wide = width(counted, _FOOT)
        lines = broken(self.sheet.footing, _FOOT, room - wide - 6.0)[:2]
        self._rule(Rule((0.0, 0.0), (room, 0.0), 0.15), MARGIN + 5.2)
        for i, line in enumerate(lines):
            self._letters(MARGIN, MARGIN + 2.2 - i * 3.2, line, _FOOT, Face.PLAIN)
        self._letters(self.wide - MARGIN - wide, MARGIN + 2.2, counted, _FOOT, Face.PLAIN)


def _tag(ink: Ink) -> Tag | None:
    return None if isinstance(ink, Rule | Shade) else ink.tag

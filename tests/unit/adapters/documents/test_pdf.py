"""The PDF itself: the same bytes each time, fonts within, numbered pages, tags that add up."""

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from service.adapters.documents.extents import Box
from service.adapters.documents.pdf import render
from service.adapters.documents.picture import picture_of
from service.adapters.documents.sheet import (
    Blanks,
    Column,
    Facts,
    Figure,
    Heading,
    Listing,
    Mark,
    Paper,
    Paragraph,
    Row,
    Sheet,
    Space,
    Table,
    Weight,
)
from service.usecases.letterhead import Letterhead
from tests.unit.adapters.documents.test_golden import small_drawing


def logo():
    """Make a small PNG with an alpha channel."""
    from PIL import Image  # reportlab brings it along

    file = BytesIO()
    Image.new("RGBA", (60, 20), (10, 90, 40, 200)).save(file, "PNG")
    return file.getvalue()


def small_sheet(rows=3, paper=Paper.A4):
    """One of each block."""
    picture = picture_of(small_drawing().groups)
    blocks = (
        Heading("Quote"),
        Facts((("For", "Żaneta Ødegård"), ("Number", "7"))),
        Heading("Items", 2),
        Table(
            (Column("No.", right=True), Column("Item", 1.0), Column("Amount", right=True)),
            (
                Row(("Posts",), Weight.GROUP),
                *(Row((str(i), f"Post {i}", f"€{i}.00")) for i in range(rows)),
                Row(("", "Total", "€9.00"), Weight.STRONG),
            ),
            "Items",
        ),
        Figure(picture, "A small drawing of one of each."),
        Figure(picture, "A part of it.", 2.0, Box(0.0, 0.0, 20.0, 20.0)),
        Listing(("First.", "Second."), Mark.NUMBER),
        Listing(("Checked.",), Mark.TICK),
        Space(4.0),
        Paragraph("Said once."),
        Blanks((("Accepted", ("Name", "Date")),)),
    )
    head = Letterhead(
        "Larkmere Deck & Rail",
        ("3 Quay Street", "Wexholm"),
        ("Tel. 555 0100",),
        "No. 1",
        "",
        logo(),
    )
    return Sheet(
        title="Quote for Ødegård",
        author=head.name,
        subject="Quote 7",
        running="Larkmere · Quote",
        footing="Quote 7",
        paper=paper,
        size=9.5,
        blocks=blocks,
        letterhead=head,
    )


@pytest.fixture(scope="module")
def reader():
    return PdfReader(BytesIO(render(small_sheet(90))))


def test_the_same_sheet_gives_the_same_bytes():
    assert render(small_sheet()) == render(small_sheet())


def test_the_bytes_do_not_depend_on_the_process():
    code = (
        "import hashlib; from tests.unit.adapters.documents.test_pdf import render, small_sheet;"
        "print(hashlib.sha256(render(small_sheet())).hexdigest())"
    )
    said = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout.strip() == hashlib.sha256(render(small_sheet())).hexdigest()


@pytest.mark.parametrize("paper", Paper)
def test_pages_have_the_size_of_the_paper(paper):
    page = PdfReader(BytesIO(render(small_sheet(paper=paper)))).pages[0]
    size = [float(page.mediabox.width) * 25.4 / 72, float(page.mediabox.height) * 25.4 / 72]
    assert size == pytest.approx(paper.value, abs=0.01)


def test_the_file_says_what_it_is(reader):
    assert reader.metadata.title == "Quote for Ødegård"
    assert reader.metadata.author == "Larkmere Deck & Rail"
    assert reader.metadata.subject == "Quote 7"
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_the_file_tells_the_day_of_what_it_is_about_and_no_clock():
    made = PdfReader(BytesIO(render(replace(small_sheet(), made_on="2026-11-25"))))
    for name in ("/CreationDate", "/ModDate"):
        assert made.metadata[name] == "D:20261125000000Z"
    assert made.metadata["/Creator"] == "Evenbay"


def test_pages_are_numbered_and_repeat_the_heads_of_a_table(reader):
    count = len(reader.pages)
    assert count >= 3
    for number, page in enumerate(reader.pages, start=1):
        text = page.extract_text()
        assert f"page {number} of {count}" in text
        assert ("Larkmere · Quote" in text) is (number > 1)
    assert "Amount" in reader.pages[1].extract_text()


def test_every_font_is_embedded_and_readable(reader):
    for page in reader.pages:
        for name, font in page["/Resources"]["/Font"].items():
            font = font.get_object()
            if not any(name == used for used in _fonts_used(reader, page)):
                continue
            descriptor = font["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor, font["/BaseFont"]
            assert "/ToUnicode" in font, font["/BaseFont"]
            assert "DejaVuSansCondensed" in font["/BaseFont"]


def _fonts_used(reader, page):
    content = ContentStream(page.get_contents(), reader)
    return {operands[0] for operands, operator in content.operations if operator == b"Tf"}


def test_letters_of_other_scripts_can_be_copied_out(reader):
    assert "Żaneta Ødegård" in reader.pages[0].extract_text()


def test_all_that_is_drawn_is_marked_once_and_known_to_the_structure(reader):
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    numbers = root["/ParentTree"]["/Nums"]
    parents = dict(zip(numbers[::2], numbers[1::2], strict=True))
    for page in reader.pages:
        depth, marked = 0, []
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            if operator in (b"BDC", b"BMC"):
                assert depth == 0, "marks do not nest"
                depth += 1
                if operator == b"BDC":
                    marked.append((operands[0], operands[1]["/MCID"]))
            elif operator == b"EMC":
                depth -= 1
            elif operator in (b"Tj", b"S", b"B", b"f", b"Do"):
                assert depth == 1, f"{operator} outside of every mark"
        assert depth == 0
        elements = parents[page["/StructParents"]]
        assert [number for _, number in marked] == list(range(len(marked)))
        assert len(elements) == len(marked)
        for (role, _), element in zip(marked, elements, strict=True):
            assert element.get_object()["/S"] == role


def _pieces(element):
    """Give the marked pieces under an element, as page and number."""
    for kid in element.get_object()["/K"]:
        kid = kid.get_object()
        if kid["/Type"] == "/MCR":
            yield kid["/Pg"]["/StructParents"], kid["/MCID"]
        else:
            yield from _pieces(kid)


def test_the_structure_leads_to_every_piece_once(reader):
    structure = reader.trailer["/Root"]["/StructTreeRoot"]
    (document,) = structure["/K"]
    numbers = structure["/ParentTree"]["/Nums"]
    known = [
        (page, number)
        for page, elements in zip(numbers[::2], numbers[1::2], strict=True)
        for number in range(len(elements))
    ]
    assert sorted(_pieces(document)) == known
    assert len(known) > 250


def _roles(element):
    element = element.get_object()
    yield str(element["/S"]), element
    kids = element["/K"]
    for kid in kids:
        kid = kid.get_object()
        if kid.get("/Type") == "/StructElem":
            yield from _roles(kid)


def test_the_structure_is_that_of_the_sheet(reader):
    (document,) = reader.trailer["/Root"]["/StructTreeRoot"]["/K"]
    found = list(_roles(document))
    roles = [role for role, _ in found]
    assert roles[0] == "/Document"
    assert roles.count("/H1") == 1
    assert roles.count("/H2") == 1
    assert roles.count("/Table") == 2
    assert roles.count("/TR") == 2 + 1 + 1 + 90 + 1, "facts, head, group, rows, total"
    assert roles.count("/LI") == 3
    alts = [element["/Alt"] for role, element in found if role == "/Figure"]
    assert alts == [
        "Logo of Larkmere Deck & Rail", "A small drawing of one of each.", "A part of it."
    ]  # fmt: skip
    scopes = {str(element["/A"]["/Scope"]) for role, element in found if role == "/TH"}
    assert scopes == {"/Row", "/Column"}


def test_headings_are_bookmarks(reader):
    assert [entry.title for entry in reader.outline if not isinstance(entry, list)] == ["Quote"]
    assert [entry.title for entry in reader.outline[1]] == ["Items"]


def test_a_row_longer_than_a_page_is_broken_and_whole():
    words = [f"word{i}" for i in range(2500)]
    table = Table((Column("Text", 1.0),), (Row((" ".join(words),)),))
    sheet = Sheet("t", "", "", "", "", Paper.A4, 9.5, (table,))
    pages = PdfReader(BytesIO(render(sheet))).pages
    assert len(pages) > 1
    text = " ".join(page.extract_text() for page in pages)
    assert [word for word in words if word not in text] == []


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_a_logo_of_any_kind_of_png_is_printed(mode):
    from PIL import Image  # reportlab brings it along

    file = BytesIO()
    Image.new(mode, (30, 10)).save(file, "PNG")
    head = Letterhead("Larkmere", logo=file.getvalue())
    sheet = Sheet("t", "", "", "", "", Paper.A4, 9.5, (Paragraph("x"),), head)
    (page,) = PdfReader(BytesIO(render(sheet))).pages
    assert len(page.images) == 1
    assert render(sheet) == render(sheet)


def test_strange_letters_do_not_stop_a_page():
    text = "梁" * 80 + " 👷 \x00 \u202e \ud800 שלום " + "x" * 400
    sheet = Sheet(text, text, text, text, text, Paper.LETTER, 9.5, (Heading(text), Paragraph(text)))
    (page,) = PdfReader(BytesIO(render(sheet))).pages
    assert "□□□" in page.extract_text()

"""The structure of a PDF for those who hear it read: headings, lists, tables, figures in words.

reportlab writes no tags, so marked content and the structure tree are put in here by the rules of
ISO 32000-1, 14.6 to 14.8 (from memory). Decoration is marked as such and not read.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFObjectReference,
    PDFPage,
    PDFString,
)

from service.adapters.documents.strips import Tag


class TagWriter:
    """Marks content while a canvas is drawn on, and writes the structure at the end."""

    def __init__(self, canvas: Any) -> None:
        """Begin on the first page."""
        self._canvas = canvas
        self._pages: list[list[Tag]] = [[]]

    @contextmanager
    def marked(self, tag: Tag | None) -> Iterator[None]:
        """Mark what is drawn meanwhile as a piece of an element, or as decoration."""
        code = self._canvas._code
        if tag is None:
            code.append("/Artifact BMC")
        else:
            pieces = self._pages[-1]
            tag.pieces.append((len(self._pages) - 1, len(pieces)))
            code.append(f"/{tag.role} <</MCID {len(pieces)}>> BDC")
            pieces.append(tag)
        yield
        code.append("EMC")

    def turn(self) -> None:
        """Begin the next page."""
        self._pages.append([])

    def write(self, root: Tag) -> None:
        """Write the structure under a root once all pages are drawn."""
        document = self._canvas._doc
        pages = document.Pages.pages
        tree = _Tree(document, pages, [tag for page in self._pages for tag in page])
        top = tree.element(root, PDFObjectReference("tags"))
        numbers: list[Any] = []
        for i, page in enumerate(pages):
            _number(page, i)
            numbers += [i, PDFArray([tree.reference(tag) for tag in self._pages[i]])]
        structure = PDFDictionary(
            {
                "Type": PDFName("StructTreeRoot"),
                "K": PDFArray([top]),
                "ParentTree": PDFDictionary({"Nums": PDFArray(numbers)}),
            }
        )
        document.Reference(structure, "tags")
        catalog = document.Catalog
        catalog.StructTreeRoot = PDFObjectReference("tags")
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def _of_table(name: str, value: Any) -> PDFDictionary:
    """Give an attribute of tables (ISO 32000-1, 14.8.5.7, from memory)."""
    return PDFDictionary({"O": PDFName("Table"), name: value})


def _number(page: PDFPage, number: int) -> None:
    """Tell a page where the parents of its pieces stand; reportlab knows no such entry."""
    page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
    page.StructParents = number
    page.Tabs = PDFName("S")


class _Tree:
    """Elements as PDF objects, each under a name of its own."""

    def __init__(self, document: Any, pages: list[PDFPage], used: list[Tag]) -> None:
        self._document = document
        self._pages = [document.Reference(page) for page in pages]
        self._names: dict[int, str] = {}
        self._used = {id(tag) for tag in used}

    def reference(self, tag: Tag) -> PDFObjectReference:
        name = self._names.setdefault(id(tag), f"tag{len(self._names)}")
        return PDFObjectReference(name)

    def element(self, tag: Tag, parent: PDFObjectReference) -> PDFObjectReference:
        """Write an element and all inside it; give the reference to it."""
        here = self.reference(tag)
        members: dict[str, Any] = {
            "Type": PDFName("StructElem"),
            "S": PDFName(tag.role),
            "P": parent,
            "K": PDFArray([*self._pieces(tag), *self._kids(tag, here)]),
        }
        if tag.alt and tag.role == "Table":  # an Alt would be heard in place of its cells
            members["A"] = _of_table("Summary", PDFString(tag.alt))
        elif tag.alt:
            members["Alt"] = PDFString(tag.alt)
        if tag.scope:
            members["A"] = _of_table("Scope", PDFName(tag.scope))
        self._document.Reference(PDFDictionary(members), here.name)
        return here

    def _pieces(self, tag: Tag) -> Iterator[PDFDictionary]:
        for page, number in tag.pieces:
            yield PDFDictionary({"Type": PDFName("MCR"), "Pg": self._pages[page], "MCID": number})

    def _kids(self, tag: Tag, here: PDFObjectReference) -> Iterator[PDFObjectReference]:
        for kid in tag.kids:
            if self._heard(kid):
                yield self.element(kid, here)

    def _heard(self, tag: Tag) -> bool:
        """Tell whether anything stands in an element; an empty cell keeps its column."""
        return tag.role == "TD" or id(tag) in self._used or any(map(self._heard, tag.kids))

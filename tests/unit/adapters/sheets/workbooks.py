"""Reads a workbook back: sheets, cells with their values, formulas and formats."""

import io
import re
import zipfile
from dataclasses import dataclass
from xml.etree import ElementTree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@dataclass(frozen=True)
class Read:
    text: str
    kind: str  # "s" for a text, "n" for a number
    formula: str
    number_format: str
    quote_prefix: bool


def sheets(data: bytes) -> dict[str, dict[str, Read]]:
    """Cells of every sheet by address, such as {"Quote lines": {"A1": ...}}."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        shared = _shared(archive)
        looks = _looks(archive)
        names = [s.get("name") for s in _root(archive, "xl/workbook.xml").iter(f"{MAIN}sheet")]
        return {
            name: _cells(_root(archive, f"xl/worksheets/sheet{i}.xml"), shared, looks)
            for i, name in enumerate(names, start=1)
        }


def _root(archive: zipfile.ZipFile, path: str) -> ElementTree.Element:
    return ElementTree.fromstring(archive.read(path))


def _shared(archive: zipfile.ZipFile) -> list[str]:
    texts = []
    for item in _root(archive, "xl/sharedStrings.xml").iter(f"{MAIN}si"):
        text = "".join(t.text or "" for t in item.iter(f"{MAIN}t"))
        texts.append(re.sub("_x([0-9A-F]{4})_", lambda m: chr(int(m[1], 16)), text))
    return texts


def _looks(archive: zipfile.ZipFile) -> list[tuple[str, bool]]:
    root = _root(archive, "xl/styles.xml")
    formats = {f.get("numFmtId"): f.get("formatCode") for f in root.iter(f"{MAIN}numFmt")}
    cells = root.find(f"{MAIN}cellXfs")
    return [
        (formats.get(xf.get("numFmtId"), ""), xf.get("quotePrefix") == "1") for xf in cells or ()
    ]


def _cells(root: ElementTree.Element, shared: list[str], looks: list) -> dict[str, Read]:
    found = {}
    for cell in root.iter(f"{MAIN}c"):
        value, formula = cell.find(f"{MAIN}v"), cell.find(f"{MAIN}f")
        text = "" if value is None else value.text or ""
        kind = "s" if cell.get("t") in ("s", "str") else "n"
        if cell.get("t") == "s":
            text = shared[int(text)]
        number_format, quoted = looks[int(cell.get("s", "0"))]
        made = "" if formula is None else formula.text or ""
        found[cell.get("r", "")] = Read(text, kind, made, number_format, quoted)
    return found

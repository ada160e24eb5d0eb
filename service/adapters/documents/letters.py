"""The letters of printed documents: their fonts, their widths, and breaking them into lines.

Fonts lie in ``service/data/fonts`` and are embedded, so a page looks the same everywhere. They hold
the Latin, Greek, Cyrillic, Armenian and Georgian scripts and the signs of currencies; a letter
they do not hold, or that is written from right to left, is printed as ``REPLACEMENT``.
"""

import re
import unicodedata
from collections.abc import Iterator
from enum import StrEnum
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

POINT = 25.4 / 72  # [mm]
REPLACEMENT = "□"
_FONTS = Path(__file__).parents[2] / "data" / "fonts"
_LOADING = Lock()
_SLACK = 1e-6  # a text as wide as its room fits [mm]
_BREAKS = re.compile("[\t\n\v\f\r\x85\u2028\u2029]")
_UNSEEN = {"Cc", "Cf", "Cs"}
# Arabic and Hebrew letters would stand in the wrong order, unjoined.
_FROM_THE_RIGHT = {"R", "AL", "AN"}


class Face(StrEnum):
    """A font, by the name of its file."""

    PLAIN = "DejaVuSansCondensed"
    BOLD = "DejaVuSansCondensed-Bold"


@cache
def _fonts() -> dict[Face, TTFont]:
    fonts = {face: TTFont(str(face), str(_FONTS / f"{face}.ttf")) for face in Face}
    for font in fonts.values():
        pdfmetrics.registerFont(font)
    return fonts


def fonts() -> dict[Face, TTFont]:
    """Give the fonts, loaded once: a page may not be set half with one load, half with another."""
    with _LOADING:
        return _fonts()


def face_of(bold: bool) -> Face:
    """Give the plain or the bold font."""
    return Face.BOLD if bold else Face.PLAIN


@lru_cache(maxsize=8192)
def printable(text: str) -> str:
    r"""Give a text in letters the fonts hold.

    Example:
        >>> printable("Ærø\n梁")
        'Ærø □'
    """
    if text.isascii() and text.isprintable():
        return text
    held = fonts()[Face.PLAIN].face.charToGlyph
    return "".join(
        _shown(letter, held) for letter in unicodedata.normalize("NFC", _BREAKS.sub(" ", text))
    )


def _shown(letter: str, held: dict[int, int]) -> str:
    if unicodedata.category(letter) in _UNSEEN:
        return ""
    fits = ord(letter) in held and unicodedata.bidirectional(letter) not in _FROM_THE_RIGHT
    return letter if fits else REPLACEMENT


@lru_cache(maxsize=16384)
def width(text: str, size: float, face: Face = Face.PLAIN) -> float:
    """Measure a printable text at a letter size in points. [mm]"""
    metrics = fonts()[face].face
    widths, other = metrics.charWidths, metrics.defaultWidth
    return float(sum(widths.get(ord(letter), other) for letter in text)) * size * POINT / 1000


def broken(text: str, size: float, room: float, face: Face = Face.PLAIN) -> list[str]:
    """Break a text into printable lines that fit a width, at blanks where there are any. [mm]"""
    shown, room = printable(text), room + _SLACK
    if width(shown, size, face) <= room and "  " not in shown:
        return [shown.strip(" ")]
    lines: list[str] = []
    for word in filter(None, shown.split(" ")):
        for part in _parts(word, size, room, face):
            together = f"{lines[-1]} {part}" if lines else part
            if lines and width(together, size, face) <= room:
                lines[-1] = together
            else:
                lines.append(part)
    return lines or [""]


def _parts(word: str, size: float, room: float, face: Face) -> Iterator[str]:
    """Cut a word that is wider than a line."""
    while len(word) > 1 and width(word, size, face) > room:
        count = len(word) - 1
        while count > 1 and width(word[:count], size, face) > room:
            count -= 1
        yield word[:count]
        word = word[count:]
    yield word


def cut(text: str, size: float, room: float, face: Face = Face.PLAIN) -> str:
    """Cut a text to one printable line that fits a width, saying so by its last letter. [mm]"""
    shown = printable(text)
    if width(shown, size, face) <= room:
        return shown
    while shown and width(shown + "…", size, face) > room:
        shown = shown[:-1]
    return shown + "…"

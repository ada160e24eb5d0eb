"""What the fonts hold, how texts are broken into lines, and what stands for the rest."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.adapters.documents.letters import (
    REPLACEMENT,
    Face,
    broken,
    cut,
    fonts,
    printable,
    width,
)

# Of each script of Europe a sentence of its letters; of currencies every sign in use.
SCRIPTS = {
    "Latin": "Ærøskøbing Łódź Őrség İstanbul Þórshöfn Çeşme Ġgantija Plzeň ĀĒĪŪ ẞ",
    "Greek": "Αθήνα Θεσσαλονίκη ΐ ΰ ώ ς",
    "Cyrillic": "Київ Београд Ђуро Љиљана Йошкар Щукин Ѓорѓи Ў",
    "Armenian": "Հայաստան Գյումրի և",
    "Georgian": "საქართველო ქუთაისი",
    "currencies": "$ € £ ¥ ₹ ₽ ₺ ₴ ₩ ₪ ₫ ₱ ₦ ₸",
    "measures": "12′ 6″ ½ ⅜ ° × ± – — … “ ” ≤ ≥ ² ³ ☐",
}


@pytest.mark.parametrize("name", SCRIPTS)
def test_the_fonts_hold_the_scripts_of_europe_and_signs_of_currencies(name):
    text = SCRIPTS[name]
    assert printable(text) == text
    for face in Face:
        held = fonts()[face].face.charToGlyph
        assert [letter for letter in text if ord(letter) not in held] == []


def test_what_the_fonts_do_not_hold_is_replaced_letter_by_letter():
    assert printable("木村 邸") == f"{REPLACEMENT * 2} {REPLACEMENT}"
    assert printable("שלום") == REPLACEMENT * 4, "its letters would stand in the wrong order"
    assert printable("a\x00\u202eb\nc\u2028d") == "ab c d"
    assert printable("e\u0301") == "\u00e9"


def test_a_lone_surrogate_is_dropped():
    assert printable("a\ud800b") == "ab"


@given(st.text(max_size=60), st.floats(8.0, 120.0), st.sampled_from(Face))
def test_lines_fit_and_lose_no_letter(text, room, face):
    lines = broken(text, 9.5, room, face)
    assert all(width(line, 9.5, face) <= room + 0.001 for line in lines)
    kept = "".join("".join(lines).split(" "))
    assert kept == "".join(printable(text).split(" "))


def test_a_line_is_broken_at_a_blank_and_only_a_long_word_within():
    assert broken("one two", 10.0, width("one two", 10.0)) == ["one two"]
    assert broken("one two", 10.0, width("one tw", 10.0)) == ["one", "two"]
    assert "".join(broken("x" * 40, 10.0, 20.0)) == "x" * 40
    assert broken("2\u00a07/8", 10.0, 1000.0) == ["2\u00a07/8"]


@given(st.text(max_size=60), st.floats(6.0, 60.0))
def test_a_cut_text_fits_and_says_that_it_is_cut(text, room):
    shown = cut(text, 8.0, room)
    assert width(shown, 8.0) <= room
    whole = printable(text)
    assert shown == whole or (shown.endswith("…") and whole.startswith(shown[:-1]))


def test_bold_letters_are_wider():
    assert width("Total", 10.0, Face.BOLD) > width("Total", 10.0)


def test_widths_are_those_of_the_font_itself():
    metrics = fonts()[Face.PLAIN].face.charWidths
    assert width("Aé", 72.0) == pytest.approx(25.4 * (metrics[65] + metrics[233]) / 1000)
    assert unicodedata.normalize("NFC", "é") == printable("é")

"""Lengths as typed: exact nanometres, refusals that help, and text that reads back.

Conversions are checked against the exact definitions 1 in = 25.4 mm and 1 yd = 0.9144 m
(international yard and pound agreement, 1959).
"""

import re
import unicodedata
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.lengths import FOOT, INCH, METRE, MILLIMETRE, inches
from service.quantities import (
    EXPANSION_PATTERN,
    LONGEST_TEXT,
    TEMPERATURE_PATTERN,
    UNIT_NAMES,
    UnreadableLength,
    length_of,
    length_pattern,
    length_text,
    number_pattern,
    parse_expansion,
    parse_length,
    parse_temperature,
)
from service.usecases.orders import Units

TWELVE_SIX_AND_A_HALF = 12 * FOOT + inches(6, 1, 2)

ACCEPTED = [
    ("12' 6-1/2\"", TWELVE_SIX_AND_A_HALF),
    ("12 ft 6.5 in", TWELVE_SIX_AND_A_HALF),
    ("12'-6 1/2\"", TWELVE_SIX_AND_A_HALF),
    ("12'6½\"", TWELVE_SIX_AND_A_HALF),
    ("12′ 6½″", TWELVE_SIX_AND_A_HALF),
    ("12’ 6 ½”", TWELVE_SIX_AND_A_HALF),
    ("12‘ 6½“", TWELVE_SIX_AND_A_HALF),
    ("12'6-1/2''", TWELVE_SIX_AND_A_HALF),
    ("12′6-1/2′′", TWELVE_SIX_AND_A_HALF),
    ("12 ft, 6 1⁄2 in.", TWELVE_SIX_AND_A_HALF),
    ("12\u00a0ft\u20096\u202f1/2\u00a0in", TWELVE_SIX_AND_A_HALF),
    ("12 FT 6-1/2 IN", TWELVE_SIX_AND_A_HALF),
    ("12 feet 6.5 inches", TWELVE_SIX_AND_A_HALF),
    ("12'–6‑1/2\"", TWELVE_SIX_AND_A_HALF),
    ("11' 18-1/2\"", TWELVE_SIX_AND_A_HALF),
    ('6-1/2"', inches(6, 1, 2)),
    ('½"', inches(0, 1, 2)),
    ("¼ in", inches(0, 1, 4)),
    ("1¾ in", inches(1, 3, 4)),
    ('⅛"', inches(0, 1, 8)),
    ('2-⅜"', inches(2, 3, 8)),
    ('⅝"', inches(0, 5, 8)),
    ('3 ⅞"', inches(3, 7, 8)),
    ("16/32 in", inches(0, 1, 2)),
    ('63/64"', inches(0, 63, 64)),
    ("12.015625 in", inches(12, 1, 64)),
    (".5 in", inches(0, 1, 2)),
    ("1 inch", INCH),
    ("1 foot", FOOT),
    ("1/2 ft", FOOT // 2),
    ("5.5 ft", 5 * FOOT + FOOT // 2),
    ("12'", 12 * FOOT),
    ("1 yd", 3 * FOOT),
    ("2 yards", 6 * FOOT),
    ("3810 mm", 3810 * MILLIMETRE),
    ("3.81 m", 3810 * MILLIMETRE),
    ("381 cm", 3810 * MILLIMETRE),
    ("3.000000001 m", 3 * METRE + 1),
    ("0.000001 mm", 1),
    ("3 metres", 3 * METRE),
    ("3 meters", 3 * METRE),
    ("5 millimetres", 5 * MILLIMETRE),
    ("5 centimeters", 50 * MILLIMETRE),
    ("  3810 mm ", 3810 * MILLIMETRE),
    ("0 in", 0),
]

REFUSED = [
    pytest.param("12", "has no unit", id="a bare number"),
    pytest.param("6-1/2", "has no unit", id="a bare fraction"),
    pytest.param("12' 6", "without their mark", id="inches without a mark"),
    pytest.param("12 ft 6.5", "without their mark", id="inches without a word"),
    pytest.param("12.5' 6\"", "decimals of a foot before inches", id="decimal feet and inches"),
    pytest.param("12 ft 6 mm", "mixes metric and imperial", id="imperial then metric"),
    pytest.param("5 m 3 in", "mixes metric and imperial", id="metric then imperial"),
    pytest.param("3 m 5 cm", "is not a length", id="two metric lengths"),
    pytest.param("1/3 in", "not on a tape", id="a third"),
    pytest.param("1/128 in", "not on a tape", id="a 128th is finer than the grid"),
    pytest.param("6-9/8\"", "not on a tape", id="an improper fraction"),
    pytest.param("1/0 in", "not on a tape", id="division by zero"),
    pytest.param("1/2 mm", "fraction of a metric unit", id="half a millimetre"),
    pytest.param("0.1234567 in", "finer than one nanometre", id="too fine"),
    pytest.param("0.000001 in", "finer than one nanometre", id="25.4 nm is not on the grid"),
    pytest.param("0.0000001 mm", "finer than one nanometre", id="a tenth of a nanometre"),
    pytest.param("99999999 mm", "10 km", id="100 km in mm"),
    pytest.param("10000 m", "10 km", id="10 km in m"),
    pytest.param("3,810 mm", "comma", id="thousands comma"),
    pytest.param("3,81 m", "comma", id="decimal comma"),
    pytest.param("-5 in", "negative", id="negative"),
    pytest.param("−5 in", "negative", id="typographic minus"),
    pytest.param("5 furlong", "is not a length", id="a unit nobody asked for"),
    pytest.param("", "missing", id="nothing"),
    pytest.param("   ", "missing", id="blanks"),
    pytest.param("mm", "is not a length", id="a unit alone"),
    pytest.param("12 ft ft", "is not a length", id="a unit twice"),
    pytest.param("1_000 mm", "is not a length", id="python's digit groups"),
    pytest.param("٣ mm", "is not a length", id="digits of another script"),
    pytest.param("5.in", "is not a length", id="a point and no decimals"),
    pytest.param("5 in\x00", "is not a length", id="NUL"),
    pytest.param("5 in\n", "is not a length", id="a line break"),
    pytest.param("5\tin", "is not a length", id="tab"),
    pytest.param("5 in; 6 in", "is not a length", id="two lengths"),
    pytest.param("x" * 5000, "longer than 48", id="five thousand letters"),
    pytest.param("1" * 40 + " mm", "10 km", id="forty digits"),
]  # fmt: skip

# What pint itself would take, wrongly or at great cost.
PINT_TRAPS = [
    pytest.param("nan mm", "not a number", id="nan"),
    pytest.param("inf mm", "not a number", id="infinity"),
    pytest.param("1e3 mm", "exponent", id="exponent"),
    pytest.param("1e400 mm", "exponent", id="an exponent that overflows"),
    pytest.param("1 Mm", "capitals", id="a megametre"),
    pytest.param("9**9**7 mm", "formula", id="a power that never ends"),
    pytest.param("1e3 ft**2/ft", "exponent", id="units that cancel"),
    pytest.param("12 ft + 6.5 in", "is not a length", id="a sum"),
    pytest.param("(" * 20 + "1 mm" + ")" * 20, "formula", id="deep parentheses"),
]


@pytest.mark.parametrize(("text", "length_nm"), ACCEPTED)
def test_reads_what_people_type(text, length_nm):
    assert parse_length(text) == length_nm


@pytest.mark.parametrize(("text", "reason"), [*REFUSED, *PINT_TRAPS])
def test_refuses_and_says_what_to_write(text, reason):
    with pytest.raises(UnreadableLength, match=re.escape(reason)) as refusal:
        parse_length(text)
    assert "Write for example" in str(refusal.value)
    assert len(str(refusal.value)) < 350


@pytest.mark.parametrize(
    ("text", "length_nm"),
    [("12 1/2 in", inches(12, 1, 2)), ("12 ft 6.5 in", inches(150, 1, 2))],
)
def test_reads_right_what_pint_reads_wrong(text, length_nm):
    # pint 0.25 reads 6 in and 78 ft in.
    assert parse_length(text) == length_nm


@pytest.mark.parametrize(
    ("text", "length_nm"),
    [
        ("-5 ft", -5 * FOOT),
        ("−1.5 m", -1500 * MILLIMETRE),
        ("- 12' 6\"", -150 * INCH),
        ("2 m", 2 * METRE),
    ],
)
def test_a_coordinate_may_be_negative(text, length_nm):
    assert parse_length(text, signed=True) == length_nm


def test_the_signed_and_unsigned_readings_are_kept_apart():
    assert parse_length("-1 in", signed=True) == -INCH
    with pytest.raises(UnreadableLength, match="negative"):
        parse_length("-1 in")


@pytest.mark.parametrize(
    ("value", "unit", "length_nm"),
    [
        ("5.5", "in", inches(5, 1, 2)),
        (5.5, "in", inches(5, 1, 2)),
        ("5-1/2", "inches", inches(5, 1, 2)),
        (3, "m", 3 * METRE),
        ("3810", "mm", 3810 * MILLIMETRE),
        (0.1, "ft", FOOT // 10),
        (1 / 3, "in", 8_466_667),  # a number is rounded: 25.4 mm / 3 = 8.466 666 6... mm
        (5e-324, "m", 0),
        (0, "yd", 0),
    ],
)
def test_reads_a_value_beside_its_unit(value, unit, length_nm):
    assert length_of(value, unit) == length_nm


@pytest.mark.parametrize(
    ("value", "unit", "reason"),
    [
        ("5.5", "furlong", "not a unit"),
        ("5.5 in", "in", "is not a length"),
        ("12' 6", "in", "is not a length"),
        ("1e3", "mm", "exponent"),
        (float("nan"), "mm", "is a number below"),
        (float("inf"), "mm", "is a number below"),
        (True, "mm", "not a number"),
        (-1, "mm", "negative"),
        (1e22, "mm", "below 10,000,000"),
        pytest.param(10**5000, "mm", "below 10,000,000", id="5001 digits"),
        (10_000, "ft", "below 10,000"),
    ],
)
def test_refuses_a_value_that_is_no_length(value, unit, reason):
    with pytest.raises(UnreadableLength, match=reason):
        length_of(value, unit)


@given(feet=st.integers(0, 9999), whole=st.integers(0, 11), sixtyfourths=st.integers(1, 63))
def test_feet_and_inches_equal_the_same_millimetres(feet, whole, sixtyfourths):
    exact_mm = (feet * 12 + whole + Fraction(sixtyfourths, 64)) * Fraction(254, 10)
    as_decimal = f"{int(exact_mm)}.{int(exact_mm % 1 * 10**6):06d}"
    typed = parse_length(f"{feet}' {whole}-{sixtyfourths}/64\"")
    assert typed == parse_length(f"{as_decimal} mm") == exact_mm * MILLIMETRE


@given(st.integers(-3 * 10**12, 3 * 10**12), st.sampled_from(Units))
def test_printed_text_reads_back_to_the_printed_step(length_nm, units):
    step_nm = INCH // 16 if units is Units.IMPERIAL else MILLIMETRE // 10
    read_nm = parse_length(length_text(length_nm, units), signed=True)
    assert read_nm % step_nm == 0
    assert 2 * abs(read_nm - length_nm) <= step_nm
    assert length_text(read_nm, units) == length_text(length_nm, units)


@pytest.mark.parametrize(
    ("length_nm", "units", "text"),
    [
        (inches(74, 5, 8), Units.IMPERIAL, "6' 2-5/8\""),
        (inches(74), Units.IMPERIAL, "6' 2\""),
        (12 * FOOT, Units.IMPERIAL, "12' 0\""),
        (FOOT + inches(0, 1, 2), Units.IMPERIAL, "1' 0-1/2\""),
        (inches(0, 3, 4), Units.IMPERIAL, '3/4"'),
        (0, Units.IMPERIAL, '0"'),
        (-1, Units.IMPERIAL, '0"'),
        (inches(0, 1, 32), Units.IMPERIAL, '1/16"'),
        (inches(11, 31, 32), Units.IMPERIAL, "1' 0\""),
        (-inches(3), Units.IMPERIAL, '-3"'),
        (1880 * MILLIMETRE, Units.METRIC, "1880 mm"),
        (inches(74), Units.METRIC, "1879.6 mm"),
        (50_000, Units.METRIC, "0.1 mm"),
        (-49_999, Units.METRIC, "0 mm"),
    ],
)
def test_prints_a_length(length_nm, units, text):
    assert length_text(length_nm, units) == text


@given(st.from_regex(length_pattern(), fullmatch=True))
def test_every_text_of_the_published_pattern_is_accepted(text):
    assert len(text) <= LONGEST_TEXT
    assert 0 <= parse_length(text) < 10**13


@given(st.from_regex(length_pattern(signed=True), fullmatch=True))
def test_every_signed_text_of_the_published_pattern_is_accepted(text):
    assert abs(parse_length(text, signed=True)) < 10**13


@given(st.data(), st.sampled_from(sorted(UNIT_NAMES)))
def test_every_value_of_the_published_pattern_is_accepted(data, unit):
    value = data.draw(st.from_regex(number_pattern(unit), fullmatch=True))
    assert length_of(value, unit) == parse_length(f"{value.strip()} {unit}")


@given(st.from_regex(length_pattern(), fullmatch=True))
def test_the_terms_of_an_accepted_text_add_up_to_its_length(text):
    # An independent reading with fractions, term by term.
    sizes = {"f": FOOT, "'": FOOT, "i": INCH, '"': INCH, "y": 3 * FOOT, "m": METRE}
    sizes |= {"mm": MILLIMETRE, "mi": MILLIMETRE, "c": 10 * MILLIMETRE}
    plain = re.sub("''|′′|’’|″|“|”", '"', text)
    plain = re.sub("[′’‘]", "'", plain).lower()
    plain = re.sub("[\u00a0\u2009\u202f]", " ", plain)
    plain = re.sub("[⁄∕]", "/", plain)
    for sign in "½¼¾⅛⅜⅝⅞":
        plain = plain.replace(sign, f" {Fraction(unicodedata.numeric(sign))}")
    total = Fraction(0)
    for numbers, unit in re.findall("([^a-z'\"]+)([a-z]+|['\"])", plain):
        size = sizes.get(unit[:2]) or sizes[unit[0]]
        words = re.findall(r"[0-9]+/[0-9]+|[0-9]*\.[0-9]+|[0-9]+", numbers)
        total += sum(Fraction("0" + w if w[0] == "." else w) for w in words) * size
    assert parse_length(text) == total


@given(st.text(alphabet="0123456789 .-/'\"½′″ftinmcyd,", max_size=16))
def test_the_pattern_accepts_a_text_exactly_when_the_parser_does(text):
    matches = re.compile(length_pattern()).fullmatch(text) is not None
    try:
        parse_length(text)
    except UnreadableLength:
        assert not matches
    else:
        assert matches


@pytest.mark.parametrize("text", [text for text, _ in ACCEPTED])
def test_the_published_pattern_takes_what_the_parser_takes(text):
    assert re.search(length_pattern(), text)


@pytest.mark.parametrize("unit", sorted(UNIT_NAMES))
def test_the_unit_table_is_that_of_the_definitions(unit):
    # 1 ft = 304.8 mm, 1 yd = 914.4 mm; the rest by metric prefixes.
    exact_mm = {"f": "304.8", "i": "25.4", "y": "914.4", "mm": "1", "cm": "10", "m": "1000"}
    expected = Fraction(exact_mm.get(unit) or exact_mm[unit[0]]) * MILLIMETRE
    assert length_of(1, unit) == expected


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        # Fixed points of the scales: ice 0 C = 32 F, steam 100 C = 212 F; -40 is the same on both.
        pytest.param("0 degC", 273.15, id="ice"),
        pytest.param("32 °F", 273.15, id="ice in Fahrenheit"),
        pytest.param("100°C", 373.15, id="steam"),
        pytest.param("-40 degF", 233.15, id="where the scales meet"),
        pytest.param("\u221240 degC", 233.15, id="typographic minus"),
        pytest.param("98.6degF", 310.15, id="blood"),
    ],
)
def test_temperatures_are_points(text, kelvin):
    assert re.fullmatch(TEMPERATURE_PATTERN, text)
    assert parse_temperature(text) == pytest.approx(kelvin, abs=1e-9)


def test_an_expansion_counts_degrees_of_difference():
    assert re.fullmatch(EXPANSION_PATTERN, "13.1 ppm/degF")
    assert parse_expansion("13.1 ppm/degF") == pytest.approx(13.1e-6 * 1.8, rel=1e-12)
    assert parse_expansion("23.58 ppm/°C") == pytest.approx(23.58e-6, rel=1e-12)

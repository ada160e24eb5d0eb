"""Lengths as people type them, to whole nanometres and back to text; forces, stresses and the like.

The only importer of pint, which derives the unit table once, when the module is loaded. Text never
reaches pint's own parser: it reads "12 1/2 in" as 6 in, "12 ft 6.5 in" as 78 ft in, and spends
seconds on "9**9**7 mm". What is read here is exactly what ``length_pattern`` describes, and the
same patterns are published in the API document.

What is accepted: one metric length ("3810 mm", "381 cm", "3.81 m"), one imperial length
("6-1/2 in", "5.5 ft", "2 yd"), or whole feet followed by inches ("12' 6-1/2", closed by an inch
mark). Inches after feet may pass 12 and are simply added. Fractions are those of a tape, halves
to 64ths; decimals end where the nanometre grid ends. Imperial words may be in capitals; metric
symbols may not, because Mm is a megametre.
"""

import math
import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from pint import UnitRegistry

from service.domain.lengths import INCH, MILLIMETRE
from service.domain.structure.checks import Unit
from service.usecases.orders import Units

LONGEST_TEXT = 48  # characters; the patterns cannot pass it
EXAMPLES = ("12' 6-1/2\"", "12 ft 6.5 in", "3810 mm", "3.81 m")
ADVICE = "Write for example 12' 6-1/2\", 12 ft 6.5 in, 3810 mm or 3.81 m."

_VULGAR = MappingProxyType({
    "½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
})  # fmt: skip


class UnreadableLength(ValueError):
    """A text that is no length; the message says what to write instead."""


# What a railing's metal may see, and coefficients of any metal or plastic; all above zero kelvin.
TEMPERATURE_PATTERN = "^[\\-\u2212]?1?[0-9]{1,2}(?:\\.[0-9]{1,3})? ?(?:deg|°)[CF]$"
EXPANSION_PATTERN = r"^[0-9]{1,2}(?:\.[0-9]{1,3})? ?ppm/(?:deg|°)[CF]$"


def _nanometres_in(unit: str) -> int:
    exact = _units.Quantity(Decimal(1), unit).to("nanometre").magnitude
    if exact != int(exact):
        raise ValueError(f"1 {unit} is not a whole number of nanometres")
    return int(exact)


_units: UnitRegistry[Decimal] = UnitRegistry(non_int_type=Decimal)
_SIZE_NM = {u: _nanometres_in(u) for u in ("foot", "inch", "yard", "mm", "cm", "metre")}

# Digits before the point, so that no length passes 10 km.
WHOLE_DIGITS = {"foot": 4, "inch": 5, "yard": 4, "mm": 7, "cm": 6, "metre": 4}

# Spellings of a unit in {"value", "unit"}, where it stands alone.
UNIT_NAMES: Mapping[str, str] = MappingProxyType({
    "ft": "foot", "foot": "foot", "feet": "foot", "in": "inch", "inch": "inch", "inches": "inch",
    "yd": "yard", "mm": "mm", "cm": "cm", "m": "metre",
})  # fmt: skip

# The pieces of the grammar; all of them mean the same to Python, ECMA 262 and Rust.
_BLANK = r"[ \u00a0\u2009\u202f]"
_GAP = _BLANK + "{0,2}"
_HYPHEN = r"[\-\u2010\u2011\u2013]"
_SLASH = r"[/\u2044\u2215]"
_JOIN = f"(?:{_BLANK}{{1,2}}|{_GAP}{_HYPHEN}{_GAP})"
_TAPE = (
    f"(?:1{_SLASH}2|[1-3]{_SLASH}4|[1-7]{_SLASH}8|(?:[1-9]|1[0-5]){_SLASH}16"
    f"|(?:[1-9]|[12][0-9]|3[01]){_SLASH}32|(?:[1-9]|[1-5][0-9]|6[0-3]){_SLASH}64)"
)
_VULGARS = f"[{''.join(_VULGAR)}]"
_SPELLINGS = {
    "foot": r"(?:['\u2032\u2019\u2018]|[Ff][Tt]\.?|[Ff][Oo][Oo][Tt]|[Ff][Ee][Ee][Tt])",
    "inch": r"(?:[\u0022\u2033\u201d\u201c]|''|\u2032\u2032|\u2019\u2019"
    r"|[Ii][Nn]\.?|[Ii][Nn][Cc][Hh](?:[Ee][Ss])?)",
    "yard": r"(?:[Yy][Dd]\.?|[Yy][Aa][Rr][Dd][Ss]?)",
    "mm": "(?:mm|millimet(?:re|er)s?)",
    "cm": "(?:cm|centimet(?:re|er)s?)",
    "metre": "(?:m|met(?:re|er)s?)",
}
# Decimals that always end on the nanometre grid; 1/64 in is 0.015625 in, hence the sixth.
_TO_THE_GRID = "(?:[0-9]{1,5}|[0-9]{5}[05])"
_DECIMALS = {
    "foot": _TO_THE_GRID, "inch": _TO_THE_GRID, "yard": _TO_THE_GRID,
    "mm": "[0-9]{1,6}", "cm": "[0-9]{1,7}", "metre": "[0-9]{1,9}",
}  # fmt: skip


def _number(unit: str) -> str:
    whole = f"[0-9]{{1,{WHOLE_DIGITS[unit]}}}"
    decimal = rf"{whole}(?:\.{_DECIMALS[unit]})?|\.{_DECIMALS[unit]}"
    if unit in ("mm", "cm", "metre"):
        return f"(?:{decimal})"
    return f"(?:{decimal}|(?:{whole}{_JOIN})?{_TAPE}|(?:{whole}(?:{_JOIN}|{_GAP}))?{_VULGARS})"


_FEET_AND_INCHES = (
    f"[0-9]{{1,4}}{_GAP}{_SPELLINGS['foot']}{_GAP}(?:,|{_HYPHEN})?{_GAP}"
    f"{_number('inch')}{_GAP}{_SPELLINGS['inch']}"
)
_ANY = "|".join([_FEET_AND_INCHES, *(f"{_number(u)}{_GAP}{_SPELLINGS[u]}" for u in _SPELLINGS)])
_MINUS = r"[\-\u2212]"


def length_pattern(*, signed: bool = False) -> str:
    """Give the pattern of an accepted length, as published in the API document."""
    sign = f"{_MINUS}?{_GAP}" if signed else ""
    return f"^{_GAP}{sign}(?:{_ANY}){_GAP}$"


def number_pattern(unit: str, *, signed: bool = False) -> str:
    """Give the pattern of the value that may stand beside a unit such as "in"."""
    sign = f"{_MINUS}?" if signed else ""
    return f"^{sign}{_number(UNIT_NAMES[unit])}$"


_ACCEPTED = {signed: re.compile(length_pattern(signed=signed)) for signed in (False, True)}
_VALUES = {
    (unit, signed): re.compile(number_pattern(unit, signed=signed))
    for unit in UNIT_NAMES
    for signed in (False, True)
}
# Loose, because it only reads what the strict pattern has let through.
_TERM = re.compile(
    rf"(?:(?:([0-9]+)(?:{_BLANK}|{_HYPHEN})+)?([0-9]+){_SLASH}([0-9]+)"
    rf"|([0-9]*)(?:\.([0-9]+)|(?:{_BLANK}|{_HYPHEN})*({_VULGARS}))?){_BLANK}*"
    rf"([A-Za-z]+|''|\u2032\u2032|\u2019\u2019|['\u2032\u2019\u2018\u0022\u2033\u201d\u201c])"
)
_MARKS = {
    **dict.fromkeys(["''", "\u2032\u2032", "\u2019\u2019", *'"\u2033\u201d\u201c'], "inch"),
    **dict.fromkeys(["'", "\u2032", "\u2019", "\u2018"], "foot"),
    **dict.fromkeys(["yard", "yards"], "yard"),
    **dict.fromkeys(["millimetre", "millimetres", "millimeter", "millimeters"], "mm"),
    **dict.fromkeys(["centimetre", "centimetres", "centimeter", "centimeters"], "cm"),
    **dict.fromkeys(["metre", "metres", "meter", "meters"], "metre"),
    **UNIT_NAMES,
}


def parse_length(text: str, *, signed: bool = False) -> int:
    r"""Read a length as a person types it. [nm]

    Args:
        text: Number or numbers with their units.
        signed: True where a minus sign has a meaning, as for a coordinate.

    Raises:
        UnreadableLength: The text is no length, or finer than one nanometre.

    Example:
        >>> parse_length("12' 6-1/2\"") == parse_length("3822.7 mm")
        True
    """
    return _read(text, signed)


@lru_cache(maxsize=8192)
def _read(text: str, signed: bool) -> int:
    if len(text) > LONGEST_TEXT or not _ACCEPTED[signed].fullmatch(text):
        raise UnreadableLength(_explain(text, signed))
    total_nm = 0
    for whole, top, bottom, units, decimals, vulgar, mark in _TERM.findall(text):
        size_nm = _SIZE_NM[_MARKS.get(mark) or _MARKS[mark.lower()]]
        total_nm += int(whole or units or 0) * size_nm
        if decimals:
            total_nm += int(decimals) * size_nm // 10 ** len(decimals)
        elif bottom:
            total_nm += int(top) * size_nm // int(bottom)
        elif vulgar:
            numerator, denominator = _VULGAR[vulgar]
            total_nm += numerator * size_nm // denominator
    return -total_nm if text.lstrip(" \u00a0\u2009\u202f")[0] in "-\u2212" else total_nm


def length_of(value: str | int | float, unit: str, *, signed: bool = False) -> int:
    """Read a value that stands beside its unit. [nm]

    A text is read exactly. A JSON number is taken at its shortest decimal form and rounded to the
    nearest nanometre, half to even, because a binary fraction seldom ends on any grid.

    Raises:
        UnreadableLength: The unit or value is not known, too large, or negative unasked.

    Example:
        >>> length_of("5.5", "in")
        139700000
    """
    if unit not in UNIT_NAMES:
        raise UnreadableLength(f"{_shown(unit)} is not a unit of length here. {_UNITS_ADVICE}")
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT or not _VALUES[unit, signed].fullmatch(value):
            raise UnreadableLength(_explain(f"{value} {unit}", signed))
        return _read(f"{value} {unit}", signed)
    if isinstance(value, bool):
        raise UnreadableLength(f"{value} is not a number. {ADVICE}")
    name = UNIT_NAMES[unit]
    bound = 10 ** WHOLE_DIGITS[name]
    if not abs(value) < bound:  # so that NaN is refused too, and no huge integer is printed
        raise UnreadableLength(f"A length in {unit} is a number below {bound:,}. {ADVICE}")
    if value < 0 and not signed:
        raise UnreadableLength(f"{value} {unit} is negative; this length cannot be. {ADVICE}")
    return round(Decimal(repr(value)) * _SIZE_NM[name])


_UNITS_ADVICE = "Use ft, in, yd, mm, cm or m."
_REASONS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), reason)
    for pattern, reason in (
        (r"(?i)\b(nan|inf|infinity)\b", "is not a number"),
        (r"(?i)[0-9.][eE][-+]?[0-9]", "has an exponent; write the number out"),
        (r"\*|\^|\(|\)|=", "holds a formula; send its result"),
        (r"^[-\u2212]", "is negative; this length cannot be"),
        (r"^[-\u2212\s]*[0-9./\s\u00bc-\u00be\u215b-\u215e-]+$", "has no unit; a unit is required"),
        (r"[0-9],[0-9]", "has a comma in a number; use a point for decimals and no thousands mark"),
        (
            r"(?i)(['\"\u2032\u2033\u2019\u201d]|\b(ft|in|yd|feet|foot|inch|inches|yards?)\b)"
            r".*[0-9]\s*(mm|cm|m)\b|[0-9]\s*(mm|cm|m)\b.*['\"\u2032\u2033\u2019\u201d]"
            r"|[0-9]\s*(mm|cm|m)\b.*[0-9]\s*(ft|in|yd|feet|foot|inch|inches|yards?)\b",
            "mixes metric and imperial units; keep to one",
        ),
        (r"[0-9]\s*(MM|Mm|mM|CM|Cm|cM|M)\b", "spells a metric unit in capitals; write mm, cm or m"),
        (
            r"^[0-9]+\.[0-9]*\s*(?:['\u2032\u2019]|ft\.?|feet|foot)[\s,-]*[0-9]",
            "has decimals of a foot before inches; write whole feet, then inches",
        ),
        (
            r"^[0-9]+\s*(?:['\u2032\u2019]|(?i:ft)\.?|(?i:feet|foot))[\s,-]*[0-9./\s-]+$",
            "has inches without their mark; close it with an inch mark or in",
        ),
        (
            r"[0-9]+\s*[/\u2044]\s*[0-9]+.*(?:mm|cm|\bm)\s*$",
            "has a fraction of a metric unit; write it as a decimal",
        ),
        (
            r"[0-9]+\s*[/\u2044]\s*[0-9]+",
            "has a fraction that is not on a tape; use halves, 4ths, 8ths, 16ths, 32nds or 64ths "
            "below one, or a decimal",
        ),
        (
            r"\.[0-9]{6,}",
            "is finer than one nanometre; write at most 5 decimals of an inch or a foot, 6 of a "
            "millimetre",
        ),
        (r"[0-9]{5,}", "is too long; no length here passes 10 km"),
    )
)


def _explain(text: str, signed: bool) -> str:
    """Say what is wrong with a text that was not accepted, and what to write instead."""
    shown = _shown(text)
    if not text.strip():
        return f"A length is missing. {ADVICE}"
    if len(text) > LONGEST_TEXT:
        return f"{shown} is longer than {LONGEST_TEXT} characters. {ADVICE}"
    bare = text.strip()
    if signed:
        bare = bare.lstrip("-\u2212 ")
    for pattern, reason in _REASONS:
        if pattern.search(bare):
            return f"{shown} {reason}. {ADVICE}"
    return f"{shown} is not a length. {ADVICE}"


def _shown(text: str) -> str:
    """Quote the caller's text in a message, shortened and without control characters."""
    kept = "".join(c if c.isprintable() else "?" for c in text[:LONGEST_TEXT])
    return f"'{kept}…'" if len(text) > LONGEST_TEXT else f"'{kept}'"


def parse_temperature(text: str) -> float:
    """Read a temperature, a point on its scale and not a difference of two. [K]

    Args:
        text: As ``TEMPERATURE_PATTERN`` has it.

    Example:
        >>> parse_temperature("32 degF") == parse_temperature("0 degC") == 273.15
        True
    """
    value = text[:-1].rstrip("deg° ").replace("\u2212", "-")
    point = _units.Quantity(Decimal(value), f"deg{text[-1]}")
    return float(point.to("kelvin").magnitude)


def parse_expansion(text: str) -> float:
    """Read a coefficient of linear expansion for each degree of difference. [1/K]

    Args:
        text: As ``EXPANSION_PATTERN`` has it.

    Example:
        >>> parse_expansion("10 ppm/degF")
        1.8e-05
    """
    millionths = Decimal(text.partition("ppm")[0].strip())
    each = _units.Quantity(millionths, f"ppm / delta_deg{text[-1]}")
    return float(each.to("1 / kelvin").magnitude)


@lru_cache(maxsize=16384)
def length_text(length_nm: int, units: Units) -> str:
    """Print a length for people, rounded half up away from zero.

    Imperial is feet and inches to the nearest 1/16 in, metric is millimetres to the nearest
    0.1 mm; both read back through ``parse_length``.

    Example:
        >>> print(length_text(1_895_475_000, Units.IMPERIAL))
        6' 2-5/8"
        >>> length_text(1_880_000_000, Units.METRIC)
        '1880 mm'
    """
    step_nm = INCH // 16 if units is Units.IMPERIAL else MILLIMETRE // 10
    steps = (2 * abs(length_nm) + step_nm) // (2 * step_nm)
    sign = "-" if length_nm < 0 and steps else ""
    if units is Units.METRIC:
        whole, tenths = divmod(steps, 10)
        return f"{sign}{whole}.{tenths} mm" if tenths else f"{sign}{whole} mm"
    inches, sixteenths = divmod(steps, 16)
    feet, inches = divmod(inches, 12)
    text = str(inches)
    if sixteenths:
        shared = math.gcd(sixteenths, 16)
        fraction = f"{sixteenths // shared}/{16 // shared}"
        text = f"{inches}-{fraction}" if inches else fraction
    if feet:
        text = f"{feet}' {text}" if inches or not sixteenths else f"{feet}' 0-{text}"
    return f'{sign}{text}"'


# Weights are fractions: a pound per foot never ends as a decimal of kilograms per metre.
_MASSES = {"kg": "kilogram", "g": "gram", "lb": "pound", "oz": "ounce"}
_KILOGRAMS = {
    spelling: Fraction(_units.Quantity(Decimal(1), name).to("kilogram").magnitude)
    for spelling, name in _MASSES.items()
}
_LINE_WEIGHTS = {
    "kg/m": _KILOGRAMS["kg"],
    "lb/ft": _KILOGRAMS["lb"] * Fraction(1000 * MILLIMETRE, _SIZE_NM["foot"]),
}
WEIGHT_UNITS = (*_KILOGRAMS, *_LINE_WEIGHTS)
WEIGHT_NUMBER = r"(?:[1-9][0-9]{0,5}(?:\.[0-9]{1,4})?|0\.[0-9]{0,3}[1-9])"  # never zero
WEIGHT_PATTERN = f"^{WEIGHT_NUMBER} ?(?:{'|'.join(WEIGHT_UNITS)})$"


def parse_weight(text: str) -> tuple[Fraction, bool]:
    """Read a weight as ``WEIGHT_PATTERN`` has it: in kilograms, and whether it is of a metre.

    Example:
        >>> parse_weight("0.5 kg/m")
        (Fraction(1, 2), True)
    """
    number = re.match(WEIGHT_NUMBER, text)
    assert number  # noqa: S101 - the pattern begins with it
    unit = text[number.end() :].strip()
    if unit in _LINE_WEIGHTS:
        return Fraction(number.group()) * _LINE_WEIGHTS[unit], True
    return Fraction(number.group()) * _KILOGRAMS[unit], False


def weight_text(weight_kg: Fraction, units: Units) -> str:
    """Print a weight for people, rounded half up to 0.1 lb or 0.1 kg.

    Example:
        >>> weight_text(Fraction(10), Units.IMPERIAL), weight_text(Fraction("0.25"), Units.METRIC)
        ('22.0 lb', '0.3 kg')
    """
    unit = "lb" if units is Units.IMPERIAL else "kg"
    one = _KILOGRAMS[unit]
    of = weight_kg.denominator * one.numerator
    tenths = (20 * weight_kg.numerator * one.denominator + of) // (2 * of)
    return f"{tenths // 10}.{tenths % 10} {unit}"


# What is not a length: unit spellings by kind, with pint's name; short, so that no caller's text
# reaches pint.
_SPELLED: Mapping[Unit, Mapping[str, str]] = MappingProxyType({
    Unit.FORCE: {"lb": "pound_force", "lbf": "pound_force", "kip": "kip", "N": "newton",
                 "kN": "kilonewton"},
    Unit.STRESS: {"psi": "psi", "ksi": "ksi", "MPa": "megapascal", "N/mm2": "megapascal"},
    Unit.PRESSURE: {"psf": "pound_force / foot ** 2", "Pa": "pascal", "kPa": "kilopascal"},
    Unit.AREA: {"in2": "inch ** 2", "mm2": "mm ** 2", "cm2": "cm ** 2"},
    Unit.MODULUS: {"in3": "inch ** 3", "mm3": "mm ** 3", "cm3": "cm ** 3"},
    Unit.SECOND_MOMENT: {"in4": "inch ** 4", "mm4": "mm ** 4", "cm4": "cm ** 4"},
    Unit.SPEED: {"mph": "mile / hour", "m/s": "metre / second", "km/h": "kilometre / hour"},
    Unit.LENGTH: {"in": "inch", "mm": "mm"},
    Unit.MOMENT: {"lb in": "pound_force * inch", "N m": "newton * metre", "N mm": "newton * mm"},
    Unit.LINE_LOAD: {"plf": "pound_force / foot", "kN/m": "kilonewton / metre", "N/mm": "N / mm"},
})  # fmt: skip
_HELD = {
    Unit.FORCE: "newton", Unit.STRESS: "megapascal", Unit.PRESSURE: "pascal",
    Unit.AREA: "mm ** 2", Unit.MODULUS: "mm ** 3", Unit.SECOND_MOMENT: "mm ** 4",
    Unit.SPEED: "metre / second", Unit.LENGTH: "mm", Unit.MOMENT: "newton * mm",
    Unit.LINE_LOAD: "newton / mm",
}  # fmt: skip
_STEPS = {
    (kind, spelling): _units.Quantity(Decimal(1), name).to(_HELD[kind]).magnitude
    for kind, spellings in _SPELLED.items()
    for spelling, name in spellings.items()
}
# How a figure is printed: unit for imperial and for metric answers.
_PRINTED = {
    Unit.FORCE: ("lb", "N"), Unit.STRESS: ("psi", "MPa"), Unit.PRESSURE: ("psf", "Pa"),
    Unit.AREA: ("in2", "mm2"), Unit.MODULUS: ("in3", "mm3"), Unit.SECOND_MOMENT: ("in4", "mm4"),
    Unit.SPEED: ("mph", "m/s"), Unit.LENGTH: ("in", "mm"), Unit.MOMENT: ("lb in", "N m"),
    Unit.LINE_LOAD: ("plf", "kN/m"),
}  # fmt: skip
_DECIMAL = r"(?:[1-9][0-9]{0,8}(?:\.[0-9]{1,9})?|0\.[0-9]{0,5}[1-9][0-9]{0,3})"  # never zero


class UnreadableQuantity(ValueError):
    """A text that is no force, stress or the like; the message says what to write instead."""


def unit_spellings(kind: Unit) -> tuple[str, ...]:
    """Give the units a quantity of this kind may be written in."""
    return tuple(_SPELLED[kind])


def quantity_pattern(kind: Unit) -> str:
    """Give the pattern of an accepted quantity, such as "200 lb", for the API document."""
    units = "|".join(re.escape(spelling) for spelling in _SPELLED[kind])
    return f"^{_DECIMAL} ?(?:{units})$"


def parse_quantity(text: str, kind: Unit) -> float:
    """Read a quantity with its unit, in the unit its kind is held in.

    Raises:
        UnreadableQuantity: The text is not a plain decimal over zero with a unit of this kind.

    Example:
        >>> round(parse_quantity("200 lb", Unit.FORCE), 3)
        889.644
    """
    if len(text) > LONGEST_TEXT or not re.fullmatch(quantity_pattern(kind), text):
        units = ", ".join(unit_spellings(kind))
        raise UnreadableQuantity(
            f"{_shown(text)} is not read here. Write a plain decimal over zero and a unit: {units}."
        )
    number = re.match(_DECIMAL, text)
    assert number  # noqa: S101 - the pattern above begins with it
    unit = text[number.end() :].strip()
    return float(Decimal(number.group()) * _STEPS[kind, unit])


def printed_quantity(value: float, kind: Unit, units: Units) -> tuple[float, str]:
    """Give a value held in the unit of its kind as it is printed, with that unit.

    Example:
        >>> value, unit = printed_quantity(889.644, Unit.FORCE, Units.IMPERIAL)
        >>> round(value, 2), unit
        (200.0, 'lb')
    """
    if kind not in _PRINTED:
        return value, kind.value
    unit = _PRINTED[kind][0 if units is Units.IMPERIAL else 1]
    return value / float(_STEPS[kind, unit]), unit

"""One clause of a data file as a Clause, refusing whatever it does not understand."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from service.adapters.data_files import (
    CodeFileError,
    Raw,
    Sources,
    read_flag,
    read_list,
    read_text,
    refuse_unknown,
    titles_of,
)
from service.domain.compliance.findings import Clause, Comparison, Condition, Dimension, Limit
from service.domain.compliance.measurement import Measure
from service.domain.compliance.measures import ATTRIBUTE_WORDS, COUNTED_ATTRIBUTES
from service.domain.compliance.needs import DROP
from service.domain.compliance.site import SITE_ATTRIBUTES
from service.quantities import UNIT_NAMES, UnreadableLength, length_of

# Needs that one file may leave to another: an overlay binds required guards without deciding them.
NEEDS = frozenset({"guard", "handrail"})

_MUST = {"section", "rule", "measure", "compare", "source", "from_memory", "named_text_seen",
         "editions_seen"}  # fmt: skip
_MAY = {"limit", "limits", "applies_when", "exceptions", "how_measured", "reading", "decides",
        "missing"}  # fmt: skip
_LIMITS_OF = {Comparison.WITHIN: 2, Comparison.OUTSIDE: 2, Comparison.REQUIRED: 0}

_POUND_MN = Decimal("4448.2216152605")  # 1 lbf in mN: 0.45359237 kg x 9.80665 m/s2, exact
_FOOT_M = Decimal("0.3048")
# Steps of the base in one unit; lengths are read by service.quantities.
_STEPS: Mapping[str, tuple[Dimension, Decimal]] = MappingProxyType({
    "count": (Dimension.COUNT, Decimal(1)),
    "factor": (Dimension.COUNT, Decimal(1)),
    "percent": (Dimension.SHARE, Decimal(10_000)),
    "deg": (Dimension.ANGLE, Decimal(3600)),
    "ratio": (Dimension.SLOPE, Decimal(3_600_000)),
    "lb": (Dimension.FORCE, _POUND_MN),
    "kN": (Dimension.FORCE, Decimal(1_000_000)),
    "plf": (Dimension.LINE_LOAD, _POUND_MN / _FOOT_M),
    "kN/m": (Dimension.LINE_LOAD, Decimal(1_000_000)),
    "psf": (Dimension.PRESSURE, _POUND_MN / 1000 / _FOOT_M**2),
    "kPa": (Dimension.PRESSURE, Decimal(1000)),
})  # fmt: skip
_COUNTED = (Dimension.COUNT, Dimension.ANGLE, Dimension.SLOPE, Dimension.SHARE)


def read_clause(
    raw: Any,
    key: str,
    where: str,
    *,
    code: str,
    edition: str,
    sources: Sources,
    measures: Mapping[str, Measure],
    asks: frozenset[str] = frozenset(),
    amended: str = "",
    deleted: bool = False,
) -> Clause:
    """Read one clause.

    Args:
        raw: The clause as written.
        key: Its key in the file.
        where: File and key, for refusals.
        code: Code it belongs to.
        edition: Edition it belongs to.
        sources: Title and address by short name.
        measures: Ways of measuring it may name.
        asks: Words the file's clauses may depend on that no layout tells, such as an occupancy.
        amended: Who changed it, if anybody did.
        deleted: Whether the change struck it out.

    Raises:
        CodeFileError: A key is unknown or missing, or a value cannot be what it should be.
    """
    raw = refuse_unknown(raw, _MUST, _MAY, where)
    measure = measures.get(read_text(raw["measure"], where))
    if measure is None:
        raise CodeFileError(f"{where}: unknown measure {raw['measure']}")
    compare = _comparison(raw["compare"], where)
    if not measure.dimensioned and not raw.get("missing"):
        raise CodeFileError(f"{where}: {raw['measure']} gives no value, so missing must say why")
    words, conditions = _applies_when(raw.get("applies_when", {}), where)
    decides = raw.get("decides", {})
    if decides:
        refuse_unknown(decides, {"need", "by"}, set(), f"{where}: decides")
        if decides["need"] not in NEEDS | {DROP}:
            raise CodeFileError(f"{where}: decides: unknown need {decides['need']}")
        _check_attribute(decides["by"], measure.attributes | asks, where)
    limits = read_limits(raw, compare, where)
    _check_kind(raw["measure"], measure, compare, limits, where)
    words_told = measure.attributes | asks | NEEDS | SITE_ATTRIBUTES
    for name in words:
        _check_attribute(name, words_told, where)
    for name in [*(c.attribute for c in conditions), *(one.or_less for one in limits)]:
        _check_attribute(name, measure.attributes | asks | {""}, where)
    _check_words(words, conditions, asks, where)
    from_memory = read_flag(raw["from_memory"], where)
    source = _source(raw["source"], sources, where, from_memory=from_memory)
    return Clause(
        key=key,
        code=code,
        edition=edition,
        section=read_text(raw["section"], where),
        rule=read_text(raw["rule"], where),
        measure=raw["measure"],
        compare=compare,
        limits=limits,
        source=source,
        from_memory=from_memory,
        applies_when=MappingProxyType(words),
        exceptions=read_text(raw.get("exceptions", ""), where),
        how_measured=read_text(raw.get("how_measured", ""), where),
        reading=read_text(raw.get("reading", ""), where),
        named_text_seen=read_flag(raw["named_text_seen"], where),
        editions_seen=_editions_seen(raw["editions_seen"], where),
        conditions=conditions,
        decides=decides.get("need", ""),
        decides_by=decides.get("by", ""),
        missing=read_text(raw.get("missing", ""), where),
        amended=amended,
        deleted=deleted,
    )


def _check_attribute(name: str, known: frozenset[str], where: str) -> None:
    if name not in known:
        raise CodeFileError(f"{where}: its measure does not know the attribute {name}")


def _check_kind(
    name: str, measure: Measure, compare: Comparison, limits: tuple[Limit, ...], where: str
) -> None:
    """Refuse a limit on something else than the measure gives, such as a force on a height."""
    if not measure.dimensioned:
        return
    if measure.of is None and limits:
        raise CodeFileError(f"{where}: {name} only says yes or no, so nothing limits it")
    if measure.of is not None and compare is Comparison.REQUIRED:
        raise CodeFileError(f"{where}: {name} measures a {measure.of} and needs a limit")
    for limit in limits:
        if limit.dimension is not measure.of:
            raise CodeFileError(f"{where}: {name} measures a {measure.of}, not a {limit.dimension}")


def _check_words(
    words: Mapping[str, str],
    conditions: tuple[Condition, ...],
    asks: frozenset[str],
    where: str,
) -> None:
    """Refuse a word that no element ever has, under which the clause would never bind."""
    for name, word in words.items():
        known = ATTRIBUTE_WORDS.get(name, ())
        if name not in asks and word not in known:
            listed = " or ".join(known) or "a number"
            raise CodeFileError(f"{where}: applies_when: {name} is {listed}, not {word}")
    for condition in conditions:
        counted = condition.attribute in COUNTED_ATTRIBUTES
        kind = Dimension.COUNT if counted else Dimension.LENGTH
        for limit in condition.limits:
            if condition.attribute not in asks and limit.dimension is not kind:
                name = condition.attribute
                raise CodeFileError(
                    f"{where}: applies_when: {name} is a {kind}, not a {limit.dimension}"
                )


def _comparison(word: Any, where: str) -> Comparison:
    try:
        return Comparison(word)
    except ValueError:
        raise CodeFileError(f"{where}: unknown comparison {word}") from None


def _editions_seen(value: Any, where: str) -> tuple[str, ...]:
    return tuple(
        read_text(edition, where) for edition in read_list(value, f"{where}: editions_seen")
    )


def read_limits(raw: Raw, compare: Comparison, where: str) -> tuple[Limit, ...]:
    """Read the limits of a clause or of a condition, as many as its comparison takes."""
    given = [raw["limit"]] if "limit" in raw else raw.get("limits", [])
    wanted = _LIMITS_OF.get(compare, 1)
    if len(given) != wanted or ("limit" in raw and "limits" in raw):
        raise CodeFileError(f"{where}: {compare} takes {wanted} limits, {len(given)} given")
    limits = tuple(_limit(one, where) for one in given)
    if len({limit.dimension for limit in limits}) > 1:
        raise CodeFileError(f"{where}: its limits are of two dimensions")
    if wanted == 2 and limits[0].base > limits[1].base:
        raise CodeFileError(f"{where}: its limits stand the wrong way round")
    return limits


def _limit(raw: Any, where: str) -> Limit:
    refuse_unknown(raw, {"value", "unit"}, {"or_less"}, f"{where}: limit")
    value, unit = read_text(raw["value"], where), read_text(raw["unit"], where)
    if unit in UNIT_NAMES:
        try:
            base, or_less = length_of(value, unit), read_text(raw.get("or_less", ""), where)
            return Limit(value, unit, base, or_less=or_less)
        except UnreadableLength as reason:
            raise CodeFileError(f"{where}: {reason}") from reason
    if unit not in _STEPS:
        raise CodeFileError(f"{where}: unknown unit {unit}")
    dimension, step = _STEPS[unit]
    try:
        exact = Fraction(value.replace(":", "/")) * Fraction(step)
    except (ValueError, ZeroDivisionError):
        raise CodeFileError(f"{where}: {value!r} is not a number") from None
    if dimension in _COUNTED and exact.denominator != 1:
        raise CodeFileError(f"{where}: {value} {unit} is finer than one step of its base")
    return Limit(value, unit, round(exact), dimension)


def _applies_when(raw: Any, where: str) -> tuple[dict[str, str], tuple[Condition, ...]]:
    """Part the words an element must match from the numbers it must stand to."""
    if not isinstance(raw, dict):
        raise CodeFileError(f"{where}: applies_when must be a mapping")
    words, conditions = {}, []
    for name, wanted in raw.items():
        if isinstance(wanted, str):
            words[name] = wanted
            continue
        place = f"{where}: applies_when {name}"
        refuse_unknown(wanted, {"compare"}, {"limit", "limits"}, place)
        compare = _comparison(wanted["compare"], place)
        conditions.append(Condition(name, compare, read_limits(wanted, compare, place)))
    return words, tuple(conditions)


def _source(raw: Any, sources: Sources, where: str, *, from_memory: bool) -> str:
    """Print where a value was read: the sources by title and address, what of them, and when."""
    refuse_unknown(raw, {"seen", "verified_on"}, {"where"}, f"{where}: source")
    if not isinstance(raw["verified_on"], date):
        raise CodeFileError(f"{where}: source: verified_on must be a date")
    if not from_memory and not raw.get("where"):
        raise CodeFileError(f"{where}: source: missing where, and it is not said to be from memory")
    titles = "; ".join(titles_of(raw.get("where", []), sources, where, "source: where"))
    seen = f"{read_text(raw['seen'], where)} Checked {raw['verified_on'].isoformat()}."
    return f"{titles}. {seen}" if titles else seen

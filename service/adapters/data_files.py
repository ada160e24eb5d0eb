"""What every data file is read by: mappings, lists and texts, or a refusal with file and key."""

from collections.abc import Mapping
from typing import Any

Raw = Mapping[str, Any]
Sources = Mapping[str, str]


class CodeFileError(ValueError):
    """A data file that must not be used; the message names file and key."""


def refuse_unknown(raw: Any, must: set[str], may: set[str], where: str) -> Raw:
    """Give a mapping back if it has every key it must have and no other than it may have."""
    if not isinstance(raw, dict):
        raise CodeFileError(f"{where}: a mapping is expected here")
    unknown = sorted(str(key) for key in raw.keys() - must - may)
    if unknown:
        raise CodeFileError(f"{where}: unknown key {', '.join(unknown)}")
    absent = sorted(key for key in must if raw.get(key) in (None, "", {}))
    if absent:
        raise CodeFileError(f"{where}: missing {', '.join(absent)}")
    return raw


def read_text(value: Any, where: str) -> str:
    """Give a text back, or refuse what is none, such as a bare number."""
    if not isinstance(value, str):
        raise CodeFileError(f"{where}: {value!r} must be text, in quotes")
    return value


def read_list(value: Any, where: str) -> list[Any]:
    """Give a list back, or refuse what is none."""
    if not isinstance(value, list):
        raise CodeFileError(f"{where} must be a list")
    return value


def read_flag(value: Any, where: str) -> bool:
    """Give true or false back, or refuse anything else."""
    if not isinstance(value, bool):
        raise CodeFileError(f"{where}: {value!r} must be true or false")
    return value


def titles_of(listed: Any, sources: Sources, where: str, key: str = "where") -> list[str]:
    """Give title and address of the sources listed by their short names."""
    names = [read_text(name, where) for name in read_list(listed, f"{where}: {key}")]
    unknown = sorted(set(names) - sources.keys())
    if unknown:
        raise CodeFileError(f"{where}: source {', '.join(unknown)} is not listed in the file")
    return [sources[name] for name in names]

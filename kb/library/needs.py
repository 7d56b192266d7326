"""What a field of the model may hold, in a coach's words, read off the model so that the two agree."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from msgspec import inspect

from kb.model.card import ID_PATTERN

PATTERNS = {
    ID_PATTERN: "lower-case words joined by hyphens, at most 80 characters",
    r"^([1-9]|10)-([1-9]|10)$": "a range such as 3-5",
    r"^https?://\S+$": "a web address that begins with http:// or https://",
}
"""Pattern of a text field to the words for it."""


@lru_cache(maxsize=500)
def needs(kind: Any) -> str:
    """Say what a type allows: "a whole number from 1 to 10"."""
    return _words(inspect.type_info(kind))


def _words(info: Any) -> str:
    return _SAY.get(type(info), lambda _: "another value")(info)


def _text(info: inspect.StrType) -> str:
    return PATTERNS.get(info.pattern or "", "text" + _span(info.min_length, info.max_length, " characters"))


def _span(low: float | None, high: float | None, unit: str = "") -> str:
    start = " of" if unit else " from"
    if low is not None and high is not None:
        return f"{start} {low} to {high}{unit}" if low != high else f"{start} {low}{unit}"
    if low is not None:
        return f"{start} {low}{unit} or more" if unit else f" of {low} or more"
    return f"{' of at most' if unit else ' up to'} {high}{unit}" if high is not None else ""


_SAY: dict[type, Callable[[Any], str]] = {
    inspect.Metadata: lambda info: _words(info.type),
    inspect.UnionType: lambda info: " or ".join(_words(t) for t in info.types if not isinstance(t, inspect.NoneType)),
    inspect.LiteralType: lambda info: f"one of {', '.join(map(str, info.values))}",
    inspect.IntType: lambda info: "a whole number" + _span(info.ge, info.le),
    inspect.FloatType: lambda info: "a number" + _span(info.ge, info.le),
    inspect.BoolType: lambda _: "true or false",
    inspect.StrType: _text,
    inspect.VarTupleType: lambda info: "a list" + _span(info.min_length, info.max_length, " entries"),
    inspect.TupleType: lambda info: f"a list of {len(info.item_types)} entries",
    inspect.StructType: lambda info: f"a map with {', '.join(field.name for field in info.fields)}",
}

"""Plain values become model objects field by field, so that every wrong field is reported and not only the first."""

import re
from collections.abc import Iterator
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

import msgspec
from msgspec.structs import FieldInfo, fields

from kb.errors import nearest
from kb.library.needs import PATTERNS, needs
from kb.library.safeyaml import Located, Path
from kb.model import Problem
from kb.model.card import ID_PATTERN

T = TypeVar("T", bound=msgspec.Struct)
Wrong = Iterator[tuple[Path, str]]
"""Path of the field and what is wrong with it."""


def convert_fields(
    kind: type[msgspec.Struct], source: Located, at: Path, file: str
) -> tuple[dict[str, Any], list[Problem]]:
    """Convert the map at `at` to the fields of `kind`; return what is right and a problem for each that is wrong."""
    raw = source.value
    for step in at:
        raw = raw[step]
    problems = [Problem(file, source.line(path), dotted(path), text) for path, text in _wrong(kind, raw, at)]
    good: dict[str, Any] = {}
    for field in fields(kind):
        if isinstance(raw, dict) and field.name in raw and not any(_wrong(field.type, raw[field.name], ())):
            good[field.name] = msgspec.convert(raw[field.name], field.type)
    return good, problems


def convert_one(kind: type[T], source: Located, at: Path, file: str) -> tuple[T | None, list[Problem]]:
    """Convert the map at `at` to one object of `kind`, or to None with the reasons."""
    good, problems = convert_fields(kind, source, at, file)
    return (None if problems else kind(**good)), problems


def dotted(path: Path) -> str:
    """Write a path as a coach would: corrects[0].fault."""
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")


def _wrong(kind: Any, value: Any, path: Path) -> Wrong:
    """Yield what is wrong with a value, as deep inside it as can be told."""
    try:
        msgspec.convert(value, kind)
    except msgspec.ValidationError:
        inner = list(_inside(kind, value, path))
        yield from inner or [(path, f"found {_name(value)}; needs {needs(kind)}{_hint(kind, value)}")]


def _inside(kind: Any, value: Any, path: Path) -> Wrong:
    for part in _parts(kind):
        if isinstance(value, dict) and isinstance(part, type) and issubclass(part, msgspec.Struct):
            yield from _struct(fields(part), value, path)
        elif isinstance(value, list) and get_origin(part) is tuple:
            for place, entry in enumerate(value):
                yield from _wrong(get_args(part)[0], entry, (*path, place))


def _struct(wanted: tuple[FieldInfo, ...], value: dict[str, Any], path: Path) -> Wrong:
    names = [field.name for field in wanted]
    for name, given in value.items():
        if name not in names:
            yield (*path, name), _unknown(name, given, names)
    for field in wanted:
        if field.name in value:
            yield from _wrong(field.type, value[field.name], (*path, field.name))
        elif field.required:
            yield (*path, field.name), "is missing; it is required"


def _unknown(name: str, value: Any, names: list[str]) -> str:
    near = nearest(name, names, 1)
    hint = f"nearest: {near[0]}" if near else f"there are {', '.join(names)}"
    quotes = "; text with a comma in it needs quotation marks round it" if value is None else ""
    return f"is not a field of this kind; {hint}{quotes}"


def _hint(kind: Any, value: Any) -> str:
    """Return the nearest word that the type allows, when the value is text and there is one."""
    if not isinstance(value, str):
        return ""
    words = [str(word) for part in _parts(kind) if get_origin(part) is Literal for word in get_args(part)]
    if needs(kind) == PATTERNS[ID_PATTERN]:
        words = ["-".join(re.findall(r"[a-z0-9]+", value.lower()))[:80]]
    near = nearest(value, words, 1)
    return f"; nearest: {near[0]}" if near else ""


def _parts(kind: Any) -> list[Any]:
    """Return the alternatives of a type, bare of annotations."""
    if get_origin(kind) is Annotated:
        return _parts(get_args(kind)[0])
    if get_origin(kind) in (Union, UnionType):
        return [inner for part in get_args(kind) for inner in _parts(part)]
    return [kind]


def _name(value: Any) -> str:
    for kind, name in ((dict, "map"), (list, "list")):
        if isinstance(value, kind):
            return f"a {name} of {len(value)}" if value else f"an empty {name}"
    if value is None:
        return "nothing"
    text = str(value).lower() if isinstance(value, bool) else " ".join(str(value).split())
    return f"'{text[:60]}'"

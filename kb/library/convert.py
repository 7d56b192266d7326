"""Plain values become model objects field by field, so that every wrong field is reported and not only the first."""

import re
from typing import Any, TypeVar, get_args, get_origin

import msgspec
from msgspec.structs import fields

from kb.errors import nearest
from kb.library.safeyaml import Located, Path
from kb.model import Problem

T = TypeVar("T", bound=msgspec.Struct)

_AT = re.compile(r" - at `\$(?P<path>[^`]*)`$")
_STEP = re.compile(r"\.([A-Za-z_]+)|\[(\d+)\]")
_PLAIN = (
    ("Expected `int`", "a whole number"),
    ("Expected `float`", "a number"),
    ("Expected `str`", "text"),
    ("Expected `array`", "a list"),
    ("Expected `object`", "a map of names and values"),
    ("Expected `bool`", "true or false"),
)


def convert_fields(kind: type[msgspec.Struct], source: Located, at: Path, file: str) -> tuple[dict[str, Any], list[Problem]]:
    """Convert the map at `at` to the fields of `kind`; return what is right and a problem for each that is wrong."""
    raw = _at(source.value, at)
    if not isinstance(raw, dict):
        return {}, [Problem(file, source.line(at), _dotted(at), f"found {_name(raw)} where a map of fields is needed")]
    wanted = {field.name: field for field in fields(kind)}
    good: dict[str, Any] = {}
    problems = [_unknown(name, list(wanted), source, at, file) for name in raw if name not in wanted]
    for name, field in wanted.items():
        if name not in raw:
            if field.required:
                problems.append(Problem(file, source.line(at), _dotted((*at, name)), "is missing; it is required"))
            continue
        try:
            good[name] = msgspec.convert(raw[name], field.type)
        except msgspec.ValidationError as error:
            problems.append(_wrong(str(error), field.type, source, (*at, name), file))
    return good, problems


def convert_one(kind: type[T], source: Located, at: Path, file: str) -> tuple[T | None, list[Problem]]:
    """Convert the map at `at` to one object of `kind`, or to None with the reasons."""
    good, problems = convert_fields(kind, source, at, file)
    return (None if problems else kind(**good)), problems


def _wrong(message: str, wanted: Any, source: Located, at: Path, file: str) -> Problem:
    match = _AT.search(message)
    inner = tuple(name or int(place) for name, place in _STEP.findall(match["path"])) if match else ()
    path: Path = (*at, *inner)
    found = _at(source.value, path)
    allowed = next((words for start, words in _PLAIN if message.startswith(start)), "")
    said = _AT.sub("", message).replace("`", "'")
    text = f"found {_name(found)}; {'needs ' + allowed if allowed else said[:1].lower() + said[1:]}"
    near = nearest(str(found), _literals(wanted), 1) if isinstance(found, str) else []
    return Problem(file, source.line(path), _dotted(path), text + (f"; nearest: {near[0]}" if near else ""))


def _unknown(name: str, wanted: list[str], source: Located, at: Path, file: str) -> Problem:
    near = nearest(name, wanted, 1)
    hint = f"; nearest: {near[0]}" if near else f"; there are {', '.join(wanted)}"
    return Problem(file, source.line((*at, name)), _dotted((*at, name)), f"is not a field of this kind{hint}")


def _literals(kind: Any) -> list[str]:
    """Return the words that a type allows, looking inside unions, lists and annotations."""
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return [word for field in fields(kind) for word in _literals(field.type)]
    if get_origin(kind) is None:
        return []
    parts = get_args(kind)
    return [part for part in parts if isinstance(part, str)] + [w for part in parts for w in _literals(part)]


def _at(value: Any, path: Path) -> Any:
    for step in path:
        try:
            value = value[step]
        except (KeyError, IndexError, TypeError):
            return None
    return value


def _name(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a map"
    return "a list" if isinstance(value, list) else f"'{str(value)[:60]}'"


def _dotted(path: Path) -> str:
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")

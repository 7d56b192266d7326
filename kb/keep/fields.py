"""The fields of a card as text: what a coach types, what a cell of a table holds, and the values they mean."""

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from kb.library.safeyaml import read_yaml
from kb.model import SECTIONS, Card, Vocabulary

FIELDS_FILE = Path(__file__).with_name("fields.yaml")
Fields = Mapping[str, str]
"""Field, dotted where it stands inside another, to its text."""

MONTHS = {name: number for number, name in enumerate("jan feb mar apr may jun jul aug sep oct nov dec".split(), 1)}
NUMBERS = ("cap", "spotting.spotters", "load.landings", "group.", "demand.")
"""Fields that hold whole numbers; a name that ends with a point stands for all inside it."""


class Field(Struct, frozen=True, forbid_unknown_fields=True):
    """One field, as a coach is asked for it and as a column of a table."""

    field: str
    ask: str
    aka: tuple[str, ...]
    usual: str = ""


@lru_cache(maxsize=1)
def all_fields() -> dict[str, Field]:
    """Return the fields by name, in the order in which they are asked for and exported."""
    source = read_yaml(FIELDS_FILE.read_text("utf-8"), FIELDS_FILE.name)
    return {field.field: field for field in msgspec.convert(source.value, list[Field])}


def values(fields: Fields, words: Vocabulary) -> tuple[dict[str, Any], dict[str, str]]:
    """Return front matter and sections that the texts mean; a text without meaning stays, for `check` to name it."""
    front: dict[str, Any] = {}
    for name in all_fields():
        text = fields.get(name, "").strip()
        if name == "id" or name in SECTIONS or (not text and name not in ("after", "equipment")):
            continue
        where = front
        outer, _, inner = name.partition(".")
        if inner:
            where = front.setdefault(outer, {})
        where[inner or outer] = value(name, text, words)
    sections = {name: shaped(name, section_text(fields[name])) for name in SECTIONS if fields.get(name, "").strip()}
    return front, sections


TIDIED = ("event", "level", "skills", "corrects", "after", "stage", "equipment", "spotting.grade", "no_spot_twin")


def tidy(fields: Fields, words: Vocabulary) -> dict[str, str]:
    """Return the fields with names of the vocabulary written as ids, so that they can be looked up."""
    found = {name: text.strip() for name, text in fields.items() if text.strip()}
    for name in TIDIED:
        if name in found:
            held = value(name, found[name], words)
            if name == "corrects":
                found[name] = "; ".join(f"{use['fault']}/{use.get('cause', '')}/{use['weight']}" for use in held)
            else:
                found[name] = _cell(name, held) or found[name]
    return found


def value(name: str, text: str, words: Vocabulary) -> Any:
    """Return the value that the text of one field means."""
    if name in _READ:
        return _READ[name](text, words)
    if name.startswith(NUMBERS):
        return int(text) if re.fullmatch(r"[+-]?\d{1,18}", text) else text
    return line(text)


def line(text: str) -> str:
    """Return the text on one line."""
    return " ".join(text.split())


def parts(text: str) -> list[str]:
    """Cut a list at its semicolons, commas or line ends, whichever comes first in that order."""
    for mark in (r"[;\n]", ","):
        if re.search(mark, text):
            return [part.strip(" -*•") for part in re.split(mark, text) if part.strip(" -*•")]
    return [text.strip()] if text.strip() else []


def level(text: str) -> int | str:
    """Return 4 or '3-5' for 'Level 4', '3 to 5', 'L3-L5', '3,4,5', and for what a table made a date of (5 March)."""
    day = re.fullmatch(r"\d{4}-(\d\d)-(\d\d)(?: 00:00:00)?", text.strip())
    month = re.fullmatch(r"(\d{1,2})[- ]([a-z]{3})[a-z]*|([a-z]{3})[a-z]*[- ](\d{1,2})", text.strip().lower())
    found = [int(number) for number in re.findall(r"\d+", text)]
    if day:
        found = [int(day[1]), int(day[2])]
    elif month and (month[2] or month[3]) in MONTHS:
        found = [int(month[1] or month[4]), MONTHS[month[2] or month[3]]]
    elif not re.fullmatch(r"(?:levels?|lvl|l|to|and|\d+|[\s,;/&+–-])+", text.strip().lower()):
        return line(text)
    if not found:
        return line(text)
    return found[0] if len(set(found)) == 1 else f"{min(found)}-{max(found)}"


def one_word(text: str, known: Mapping[str, Any]) -> str:
    """Return the id of a word of the vocabulary that is named by id or name, or the text as an id."""
    wanted = line(text).lower()
    if wanted in known:
        return wanted
    names = {str(getattr(item, "name", "")).lower(): str(name) for name, item in known.items()}
    others = {aka.lower(): str(name) for name, item in known.items() for aka in getattr(item, "aka", ())}
    return names.get(wanted) or others.get(wanted) or "-".join(re.findall(r"[a-z0-9]+", wanted)) or line(text)


def corrects(text: str, words: Vocabulary) -> list[dict[str, Any]]:
    """Read 'fault/cause/3; fault/cause/2'; a fault or cause may be written by its name."""
    found: list[dict[str, Any]] = []
    for part in parts(text) if "/" not in text else [p.strip() for p in re.split(r"[;\n]", text) if p.strip()]:
        pieces = [piece.strip() for piece in part.split("/")]
        fault = one_word(pieces[0], words.faults)
        entry: dict[str, Any] = {"fault": fault}
        if len(pieces) > 1 and pieces[1]:
            causes = {cause.id: cause for cause in words.faults[fault].causes} if fault in words.faults else {}
            entry["cause"] = one_word(pieces[1], causes)
        weight = pieces[2] if len(pieces) > 2 else str(3 if not found else 2)
        entry["weight"] = int(weight) if weight.isdecimal() else weight
        found.append(entry)
    return found


PIECE = re.compile(r"(?:(?P<count>\d{1,2})\s*(?:x|×|\*)?\s+|(?P<word>an?|one|two|three|four|five|six)\s+)?(?P<name>.+)")
COUNTS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}


def equipment(text: str, words: Vocabulary) -> list[dict[str, Any]]:
    """Read '2 panel mats, wedge (or block-20)' as pieces of kit."""
    if line(text).lower() in ("", "none", "nothing", "no kit", "-"):
        return []
    found = []
    outside = re.sub(r"\(([^)]*)\)", lambda m: f"({re.sub('[,;]', '|', m[1])})", text)  # commas inside brackets stay
    for part in parts(outside if re.search(r"[;,\n]", outside) else re.sub(r" (?:and|\+|&) ", ", ", outside)):
        name, _, instead = part.partition("(")
        match = PIECE.fullmatch(line(name).lower())
        if match is None:
            continue
        entry: dict[str, Any] = {
            "item": kit_id(match["name"], words),
            "count": int(match["count"] or COUNTS.get(match["word"] or "", 1)),
        }
        others = re.split(r"\||\bor\b", re.sub(r"^\s*(?:or|instead)\b:?", "", instead.rstrip(") ")))
        if stand_ins := [kit_id(other.strip(), words) for other in others if other.strip()]:
            entry["instead"] = stand_ins
        found.append(entry)
    return found


def kit_id(name: str, words: Vocabulary) -> str:
    """Return the id of a piece of kit named by id, name or alias, in the singular or plural."""
    table = _kit_table(_Same(words))
    plain = re.sub(r"[- ]+", " ", name.lower()).strip()
    forms = [plain, plain.removesuffix("s"), plain.removesuffix("es"), re.sub(r"(\w+?)e?s\b", r"\1", plain, count=1)]
    return next((table[form] for form in forms if form in table), None) or one_word(name, {})


class _Same:
    """A vocabulary that equals itself alone, so that what is made of it once can be kept."""

    def __init__(self, words: Vocabulary) -> None:
        self.words = words

    def __hash__(self) -> int:
        return id(self.words)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.words is self.words


@lru_cache(maxsize=2)
def _kit_table(same: _Same) -> dict[str, str]:
    return {
        re.sub(r"[- ]+", " ", one.lower()): item.id
        for item in same.words.equipment.values()
        for one in (*item.aliases, item.name, item.id)
    }


def section_text(text: str) -> str:
    """Return the text of a section without what would make a heading of its own."""
    lines = [one.rstrip() for one in text.replace("\r\n", "\n").replace("\r", "\n").strip().split("\n")]
    kept = [re.sub(r"^ {0,3}#+ *", "", one) for one in lines if not re.fullmatch(r" {0,3}(-+|=+)", one)]
    return "\n".join(kept).strip()


def shaped(name: str, text: str) -> str:
    """Return cues as bullets in quotation marks and cautions as bullets, when they were written as plain lines."""
    if name not in ("Say", "Keep safe") or re.search(r"^[-*] ", text, re.M):
        return text
    if name == "Say":
        said = re.findall(r'["“]([^"”]+)["”]', text) or [one.strip() for one in re.split(r"[;\n]", text)]
        return "\n".join(f'- "{one}"' for one in said if one)
    return "\n".join(f"- {one}" for one in re.split(r"(?<=[.!]) +|\n", text) if one.strip())


def _nested(text: str, _words: Vocabulary) -> Any:
    try:
        return msgspec.json.decode(text)
    except msgspec.DecodeError:
        return text


def _names(known: Callable[[Vocabulary], Mapping[str, Any]]) -> Callable[[str, Vocabulary], Any]:
    return lambda text, words: [one_word(part, known(words)) for part in parts(text)]


def _name(known: Callable[[Vocabulary], Mapping[str, Any]]) -> Callable[[str, Vocabulary], Any]:
    return lambda text, words: one_word(text, known(words))


_READ: dict[str, Callable[[str, Vocabulary], Any]] = {
    "event": _name(lambda words: words.events),
    "level": lambda text, _: level(text),
    "skills": _names(lambda words: words.skills),
    "corrects": corrects,
    "after": _names(lambda _: {}),
    "stage": _name(lambda words: words.stages),
    "equipment": equipment,
    "spotting.grade": _name(lambda words: words.spotting),
    "load.wrists": lambda text, _: line(text).lower(),
    "load.on": lambda text, _: line(text).lower(),
    "no_spot_twin": _name(lambda _: {}),
    "size": _nested,
    "figure": _nested,
}


def card_fields(card: Card) -> dict[str, str]:
    """Return every field of a card as text that `values` reads back to the same card."""
    plain: dict[str, Any] = msgspec.to_builtins(card)
    found: dict[str, str] = {}
    for name in all_fields():
        outer, _, inner = name.partition(".")
        held = plain["sections"].get(name) if name in SECTIONS else plain.get(outer)
        held = held.get(inner) if inner and isinstance(held, dict) else held
        found[name] = _cell(name, held)
    return found


def _cell(name: str, held: Any) -> str:
    if held is None or held == "" or (isinstance(held, list | tuple) and not held):
        return ""
    if name in ("size", "figure"):
        return msgspec.json.encode(held).decode()
    if name == "corrects":
        return "; ".join(f"{use['fault']}/{use['cause']}/{use['weight']}" for use in held)
    if name == "equipment":
        return "; ".join(_piece(piece) for piece in held)
    return "; ".join(held) if isinstance(held, list | tuple) else str(held)


def _piece(piece: dict[str, Any]) -> str:
    instead: Iterable[str] = piece.get("instead", ())
    return f"{piece['count']} {piece['item']}" + (f" (or {', '.join(instead)})" if instead else "")

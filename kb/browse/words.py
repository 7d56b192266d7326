"""Words and links that templates need: names for ids, levels, kit, sizes."""

import re
from collections.abc import Iterable
from typing import Any
from urllib.parse import urlencode

from kb.browse.markdown import to_html
from kb.model import BuildItem, Card, DrillMatch, Question, SizedPiece, Vocabulary

READINGS = {
    "event": "event",
    "level": "level",
    "age": "age",
    "height_cm": "height",
    "without": "missing kit",
    "have": "only this kit",
    "spotters": "spotters",
    "group": "group size",
}
"""Field of a question to what it is called on a page."""


def levels(low_high: tuple[int, int]) -> str:
    """Return 'level 3' or 'levels 3 to 5'."""
    low, high = low_high
    return f"level {low}" if low == high else f"levels {low} to {high}"


def kit_of(card: Card, words: Vocabulary) -> list[str]:
    """Return the card's kit in words."""
    return [
        f"{f'{piece.count} × ' if piece.count > 1 else ''}{words.equipment[piece.item].name.lower()}"
        for piece in card.equipment
    ]


def readings(question: Question, asked: dict[str, Any]) -> list[dict[str, str]]:
    """Return what was read from the words, each with the link that takes it back."""
    ignored = list(asked.get("ignore", ()))
    found = [
        {
            "name": READINGS.get(field, field),
            "value": value_of(question, field),
            "said": said,
            "back": link(asked, ignore=[*ignored, field]),
        }
        for field, said in question.read.items()
        if field in READINGS
    ]
    if question.corrections:
        mended = ", ".join(f"{typed} → {read}" for typed, read in question.corrections)
        found.append(
            {"name": "spelling", "value": mended, "said": "", "back": link(asked, ignore=[*ignored, "spelling"])}
        )
    options = (
        ("event", "event", ""),
        ("level", "level", ""),
        ("height", "height_cm", " cm"),
        ("spotters", "spotters", ""),
    )
    given = [
        {"name": READINGS[field], "value": f"{asked[key]}{unit}", "said": "", "back": link({**asked, key: None})}
        for key, field, unit in options
        if asked.get(key) not in (None, "")
    ]
    return [*given, *found]


def value_of(question: Question, field: str) -> str:
    """Return what was read for a field, short enough for a page."""
    value = getattr(question, field)
    if field == "have":
        return f"{len(value or ())} kinds"
    if field == "height_cm":
        return f"{value} cm"
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def link(asked: dict[str, Any], **changes: Any) -> str:
    """Return the address of the first page with these words and limits."""
    merged = {**asked, **changes}
    pairs = [
        (name, value)
        for name, values in merged.items()
        for value in (values if isinstance(values, (list, tuple)) else [values])
        if value not in (None, "")
    ]
    return f"/?{urlencode(pairs)}"


def size_words(piece: SizedPiece) -> dict[str, str]:
    """Return a sized piece in words."""
    size = f"{piece.target_cm:.0f} cm"
    if piece.limit == "at-most":
        size = f"at most {size}"
    elif piece.limit == "at-least":
        size = f"at least {size}"
    else:
        size += f" (give or take {piece.tolerance_cm:.0f})"
    offset = ""
    if piece.offset_cm:
        offset = f"; then {abs(piece.offset_cm):.0f} cm {'more' if piece.offset_cm > 0 else 'less'}"
    span = f"{piece.range_cm[0]:.0f} to {piece.range_cm[1]:.0f} cm for most of her age" if piece.range_cm else ""
    return {
        "piece": piece.piece,
        "size": size,
        "range": span,
        "build": build_words(piece.build) if not piece.along else "",
        "measure": f"{piece.measure}{offset}",
        "source": piece.source,
    }


def build_words(items: Iterable[BuildItem]) -> str:
    """Return what a piece is built of, from the floor up."""
    listed = list(items)
    if not any(item.form or item.count > 1 or item.above for item in listed):
        return ", ".join(item.name.lower() for item in listed)

    def one(item: BuildItem) -> str:
        return f"{f'{item.count} × ' if item.count > 1 else ''}{item.name.lower()} {item.form}".strip()

    under = " + ".join(one(item) for item in listed if item.above)
    return " + ".join(one(item) for item in listed if not item.above) + (f", over {under}" if under else "")


def cause_words(drill: DrillMatch, words: Vocabulary) -> str:
    """Return for which cause of the fault a drill is; empty when it is a step of a ladder."""
    fault = words.faults.get(drill.fault)
    causes = [cause for cause in fault.causes if cause.id == drill.cause] if fault else []
    return f"{drill.why[0].partition(':')[0]}: {causes[0].name[0].lower()}{causes[0].name[1:]}" if causes else ""


def sentences(text: str) -> list[str]:
    """Return a text sentence by sentence."""
    return [part.strip() for part in re.split(r"(?<=[.;:]) ", text) if part.strip()]


def drill_words(drill: DrillMatch, words: Vocabulary, card: Card) -> dict[str, Any]:
    """Return a drill of an answer as its template needs it."""
    grade = words.spotting[card.spotting.grade].name
    return {
        "id": drill.id,
        "title": drill.title,
        "event": words.events[drill.event].name,
        "levels": levels(drill.level),
        "stage": words.stages[card.stage].name.lower(),
        "cause": cause_words(drill, words),
        "why": drill.why[1:] if drill.fault else (),
        "kit": ", ".join(drill.equipment) or "nothing",
        "spot": f"{grade}. {card.spotting.hands}",
        "skill": words.skills[drill.ladder.skill].name,
        "skill_id": drill.ladder.skill,
        "rung": drill.ladder.rung,
        "of": drill.ladder.of,
        "ready_when": drill.ready_when,
        "keep_safe": to_html(card.sections["Keep safe"]),
        "sizes": [size_words(piece) for piece in drill.sizes],
        "drawn": card.figure is not None,
    }

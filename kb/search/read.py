"""Read a question: what is limit, what is symptom."""

import re

from kb.errors import OutOfRange, UnknownName
from kb.model import Equipment, Question, Vocabulary
from kb.search.limits import Limits

LONGEST = 2_000
"""Characters of a question that are read; more than a coach says in one breath, and the start says what she sees."""


def read_question(text: str, limits: Limits, words: Vocabulary) -> Question:
    """Return the question with the limits that were given as options checked against the vocabulary.

    Raises UnknownName for an event or a piece of kit that the vocabulary does not have, OutOfRange for a level.
    """
    clean = " ".join(re.sub(r"[^\S ]|[\x00-\x1f\x7f]", " ", text)[:LONGEST].split())
    if limits.event is not None and limits.event not in words.events:
        raise UnknownName("event", [limits.event], words.events)
    if limits.level is not None and limits.level not in words.levels:
        raise OutOfRange("the level", limits.level, f"from {min(words.levels)} to {max(words.levels)}")
    return Question(
        text=clean,
        symptom=clean,
        event=limits.event,
        level=limits.level,
        without=kit_ids(limits.without, words.equipment),
        have=limits.have,
        spotters=limits.spotters,
    )


def kit_ids(names: tuple[str, ...], equipment: dict[str, Equipment]) -> tuple[str, ...]:
    """Return the ids of pieces named by id, name or alias; raises UnknownName with all that are not known."""
    table = {alias.lower(): item.id for item in equipment.values() for alias in (item.id, item.name, *item.aliases)}
    found = {name: table.get(name.lower().strip()) for name in names}
    unknown = [name for name, item in found.items() if item is None]
    if unknown:
        raise UnknownName("piece of kit", unknown, table)
    return tuple(item for item in found.values() if item)

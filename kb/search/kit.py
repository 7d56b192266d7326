"""Names of kit in a question: which pieces are meant by 'panel mats and a wedge'."""

import re
from collections.abc import Iterable, Mapping
from functools import cached_property

from kb.errors import UnknownName
from kb.model import Equipment, Vocabulary

PLENTY = 99
"""How many of a piece are taken to be there when the coach names it without a number."""
ALWAYS_THERE = ("hall", "target", "hand")
"""Kinds of kit that 'only panel mats' does not take away: walls, chalk, beanbags, ropes."""


def kit_names(equipment: Mapping[str, Equipment]) -> dict[str, str]:
    """Return every name and alias in lower case with the id it stands for."""
    return {name.lower(): item.id for item in equipment.values() for name in (*item.aliases, item.name, item.id)}


def kit_ids(names: Iterable[str], equipment: Mapping[str, Equipment]) -> tuple[str, ...]:
    """Return the ids of pieces named by id, name or alias; raises UnknownName with all that are not known."""
    table = kit_names(equipment)
    found = {name: table.get(_singular(name.lower().strip(), table)) for name in names}
    unknown = [name for name, item in found.items() if item is None]
    if unknown:
        raise UnknownName("piece of kit", unknown, table)
    return tuple(dict.fromkeys(item for item in found.values() if item))


def _singular(name: str, table: Mapping[str, str]) -> str:
    forms = (name, name.removesuffix("s"), name.removesuffix("es"))
    return next((form for form in forms if form in table), name)


class KitReader:
    """Finds pieces of kit in the words of a question."""

    def __init__(self, words: Vocabulary) -> None:
        self.equipment = words.equipment
        self.table = kit_names(words.equipment)
        others = set(words.reading.not_kit) if words.reading else set()
        self.names = sorted((name for name in self.table if name not in others), key=len, reverse=True)
        self.ids = {re.sub(r"[- ]", "", name): item for name, item in self.table.items()}

    def may_hold(self, text: str) -> bool:
        """Say quickly whether a text names any piece at all: most questions do not, and the pattern is large."""
        glued = re.sub(r"[- ]", "", text)
        return any(name in glued for name in self._glued)

    @cached_property
    def _glued(self) -> tuple[str, ...]:
        return tuple(re.sub(r"[- ]", "", name) for name in self.names)

    @cached_property
    def _one(self) -> str:
        names = (re.escape(name).replace(r"\-", "[- ]?").replace(r"\ ", "[- ]?") for name in self.names)
        return f"(?:{'|'.join(names)})(?:e?s)?"

    @cached_property
    def one(self) -> "re.Pattern[str]":
        """Regular expression of one piece."""
        return re.compile(rf"\b{self._one}\b")

    @cached_property
    def pattern(self) -> str:
        """Regular expression of one or more pieces in a row."""
        more = rf"(?: ?, ?| (?=no )| and | or | ?\+ ?| & )(?:no |an? |the |some |one |two |three )*{self._one}\b"
        return rf"(?:{self._one}\b(?:{more})*)"

    def find(self, text: str) -> tuple[str, ...]:
        """Return the ids of the pieces named in a text."""
        names = (re.sub(r"[- ]", "", match.group(0)) for match in self.one.finditer(text))
        return tuple(
            dict.fromkeys(
                self.ids[_singular(name, self.ids)] for name in names if _singular(name, self.ids) in self.ids
            )
        )

    def only(self, items: Iterable[str]) -> dict[str, int]:
        """Return the kit of a gym that has these pieces, and the small things that every hall has."""
        small = [item.id for item in self.equipment.values() if item.kind in ALWAYS_THERE]
        return dict.fromkeys((*items, *small), PLENTY)

"""What a library folder holds once it is read: cards, vocabulary and everything that is wrong with them."""

from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from kb.model import Card, Problem, Said, Vocabulary


class Collection(Struct, frozen=True):
    """A library, read and checked."""

    folder: Path
    cards: Mapping[str, Card]
    """Cards that may be shown, by id, ordered by event and id. Those that a problem keeps out are not here."""
    vocabulary: Vocabulary
    said: Mapping[str, tuple[Said, ...]]
    """More ways each fault is said, by fault, from `vocabulary/said`."""
    problems: tuple[Problem, ...]
    """Everything found wrong, in order of file and line."""

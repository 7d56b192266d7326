"""A club's own kit list: which pieces there are, how many, and how large where they differ from the usual."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from kb.errors import FileUnusable
from kb.library.vocabulary import unknown_word
from kb.library.yamlfile import read_object
from kb.model import Equipment
from kb.model.card import Count, Id, Line


class OwnedPiece(Struct, frozen=True, forbid_unknown_fields=True):
    """One line of a kit list."""

    item: Id
    count: Count = 1
    cm: Annotated[tuple[float, ...], Meta(min_length=3, max_length=3)] | None = None
    """Length, width and height of this club's own piece, where they are not the usual ones."""
    note: Line | None = None


class KitFile(Struct, frozen=True, forbid_unknown_fields=True):
    """What a gym owns."""

    items: tuple[OwnedPiece, ...]
    club: Line | None = None

    def counts(self) -> dict[str, int]:
        """Return how many there are of each piece, pieces of different sizes added up."""
        found: dict[str, int] = {}
        for piece in self.items:
            found[piece.item] = found.get(piece.item, 0) + piece.count
        return found


def read_kit(path: Path, equipment: dict[str, Equipment]) -> KitFile:
    """Read a kit list. Raises FileUnusable, with the line, for anything in it that is wrong."""
    kit, source = read_object(path, KitFile, "drills/kits/larkmoor.yaml is an example")
    for place, piece in enumerate(kit.items):
        if piece.item not in equipment:
            raise FileUnusable(path, source.line(("items", place, "item")), unknown_word(piece.item, equipment))
    return kit

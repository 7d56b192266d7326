"""Sizes of a station: the rules, and what they come to for one child and one gym."""

from typing import Literal

from msgspec import Struct

from kb.model.types import Id, Line

Limit = Literal["", "at-most", "at-least"]
"""Whether a size may be missed on both sides, or never upward, or never downward."""


class SizeRule(Struct, frozen=True, forbid_unknown_fields=True):
    """How a size follows from the child's height: (of_height + per_level × levels above 3) × height + plus_cm."""

    id: Id
    name: Line
    of_height: float
    """Fraction of her height."""
    tolerance_cm: float
    """How far off the built station may be."""
    measure: Line
    """How to take the length on her with a tape."""
    source: Line
    plus_cm: float = 0.0
    per_level: float = 0.0
    """Fraction of her height added for every level above 3."""
    at_most_of_height: float | None = None
    caps: tuple[float, ...] = ()
    """Highest value in cm at level 1, 2, 3 and so on; a level above the last has the last one's."""
    limit: Limit = ""
    along: bool = False
    """A distance on the floor instead of a height."""
    age: Literal["", "legs", "trunk"] = ""
    """What is corrected when her age is known: children's legs are shorter than adults', and trunks longer."""


class BuildItem(Struct, frozen=True):
    """Pieces of kit in one layer of a station, or one piece that is set."""

    item: str
    count: int
    """Pieces taken from the kit."""
    name: str
    form: str = ""
    """How it is used: folded, folded once, 2 sections, set at 130 cm."""
    cm: float = 0.0
    """Height that it gives in all."""
    above: bool = False
    """It lies under her, and the height is measured from its top."""


class Built(Struct, frozen=True):
    """One way to build a piece, lowest layer first."""

    items: tuple[BuildItem, ...]
    reached_cm: float
    off_cm: float
    """Reached less wanted."""

    @property
    def pieces(self) -> int:
        """How many pieces are carried."""
        return sum(item.count for item in self.items)


class SizedPiece(Struct, frozen=True):
    """One piece of a station, to the child's size."""

    piece: str
    rule: str
    target_cm: float
    tolerance_cm: float
    source: str
    measure: str
    build: tuple[BuildItem, ...] = ()
    """What to build it from, lowest first; empty when nothing is to be built, or nothing fits."""
    reached_cm: float | None = None
    off_cm: float | None = None
    limit: Limit = ""
    offset_cm: float = 0.0
    """What the card adds to the length of her body; it is in the target already."""
    along: bool = False
    measured: bool = False
    """The length was measured on her and is no estimate."""
    fits: bool = True
    """Built within the tolerance."""
    nearest: tuple[Built, ...] = ()
    """When nothing fits: the nearest below and the nearest above that is allowed."""
    borrow: str = ""
    """When nothing fits: the piece that would help."""
    range_cm: tuple[float, float] | None = None
    """From a child at the 5th to one at the 95th percentile, when only her age is known."""


class Sizes(Struct, frozen=True):
    """The sizes of one station for one child."""

    card: str
    height_cm: float
    pieces: tuple[SizedPiece, ...]
    age: float | None = None
    level: int | None = None
    expected_cm: tuple[float, float, float] | None = None
    """5th, 50th and 95th percentile of height at her age, when the height was not given."""
    instead: tuple[str, ...] = ()
    """Cards for the same fault whose station can be built, when this one cannot."""

    @property
    def fits(self) -> bool:
        """Whether every piece can be built."""
        return all(piece.fits for piece in self.pieces)


class SquadBuild(Struct, frozen=True):
    """One way the station stands, and the children it is for."""

    children: tuple[str, ...]
    """Group and number, smallest first."""
    heights_cm: tuple[float, float]
    """Of the smallest and the tallest of them."""
    sizes: Sizes


class SquadSizes(Struct, frozen=True):
    """The station for a whole squad, rebuilt as few times as possible."""

    card: str
    builds: tuple[SquadBuild, ...]
    alone: tuple[str, ...] = ()
    """Children for whom no build fits."""

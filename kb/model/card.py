"""One drill card: the YAML front matter and the Markdown sections under it."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from kb.model.figure import Figure
from kb.model.size import Limit
from kb.model.types import ID_PATTERN, Id, Line

__all__ = [
    "ID_PATTERN",
    "SECTIONS",
    "Card",
    "Corrects",
    "Demand",
    "FrontMatter",
    "Group",
    "Id",
    "Line",
    "Load",
    "Piece",
    "SizeUse",
    "Spotting",
]

SECTIONS = ("Fixes", "Set up", "Do", "Say", "Look for", "Goes wrong", "Easier", "Harder", "Keep safe")
"""The second-level headings of a card's body, in their order. All are required."""

Count = Annotated[int, Meta(ge=1, le=99)]
Step = Annotated[int, Meta(ge=0, le=3)]


class Corrects(Struct, frozen=True, forbid_unknown_fields=True):
    """One fault that the drill mends, by way of one of its causes."""

    fault: Id
    cause: Id
    weight: Annotated[Literal[1, 2, 3], Meta(description="3 made for it, 2 helps, 1 side effect.")]


class Demand(Struct, frozen=True, forbid_unknown_fields=True):
    """What one repetition asks of the child, each from 0 to 3 (demand.yaml says what the numbers mean)."""

    height: Step
    speed: Step
    rotation: Step


class Piece(Struct, frozen=True, forbid_unknown_fields=True):
    """A piece of kit that the station needs."""

    item: Id
    count: Count = 1
    instead: tuple[Id, ...] = ()
    """What can stand in for it on this card, best first, before the stand-ins of the vocabulary."""


class Spotting(Struct, frozen=True, forbid_unknown_fields=True):
    """Who spots, how, and where each hand goes."""

    grade: Id
    hands: Line
    spotters: Annotated[int, Meta(ge=0, le=4)]


class Load(Struct, frozen=True, forbid_unknown_fields=True):
    """What the body takes in one repetition."""

    wrists: Literal["none", "low", "medium", "high"]
    landings: Annotated[int, Meta(ge=0, le=20, description="Landings on the feet in one repetition.")]
    on: Literal["feet", "hands", "back", "seat", "front", "none"]


class Group(Struct, frozen=True, forbid_unknown_fields=True):
    """How the station runs."""

    at_once: Annotated[int, Meta(ge=1, le=20, description="Children at work at the same moment.")]
    waiting: Annotated[int, Meta(ge=0, le=20, description="Children who may wait their turn.")]
    minutes: Annotated[int, Meta(ge=1, le=30, description="Minutes of one visit.")]
    reps: Annotated[int, Meta(ge=1, le=60, description="Repetitions of each child in one visit.")]


class SizeUse(Struct, frozen=True, forbid_unknown_fields=True):
    """A piece that must fit the child, and the rule that gives its size."""

    piece: Line
    rule: Id
    offset_cm: Annotated[float, Meta(ge=-60, le=60, description="Centimetres added to what the rule gives.")] = 0.0
    of: tuple[Id, ...] = ()
    """Kit of this card that the piece is, or is built of, lowest first; none for a place that only her hands take."""
    above: tuple[Id, ...] = ()
    """Kit of this card from whose top the height is measured, lowest first; the floor when there is none."""
    form: Literal["", "open", "folded once", "folded"] = ""
    """How the folding mat on top lies, where only one way is right."""
    alike: Annotated[int, Meta(ge=1, le=6)] = 1
    """How many of it stand, all alike."""
    limit: Limit = ""
    """'at-most' when it must never be higher or further than this, 'at-least' when never lower or nearer."""


class FrontMatter(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What stands between the two lines of dashes at the top of a card."""

    title: Line
    event: Id
    level: Annotated[int, Meta(ge=1, le=10)] | Annotated[str, Meta(pattern=r"^([1-9]|10)-([1-9]|10)$")]
    skills: Annotated[tuple[Id, ...], Meta(min_length=1, max_length=4, description="Main skill first.")]
    corrects: Annotated[tuple[Corrects, ...], Meta(min_length=1, max_length=6, description="Strongest first.")]
    after: Annotated[tuple[Id, ...], Meta(max_length=6, description="Cards to be ready on first.")]
    stage: Id
    ready_when: Line
    equipment: tuple[Piece, ...]
    spotting: Spotting
    load: Load
    group: Group
    sources: Line
    demand: Demand | None = None
    no_spot_twin: Id | None = None
    cap: Annotated[int, Meta(ge=1, le=200, description="Most repetitions of a child in one session.")] | None = None
    size: tuple[SizeUse, ...] = ()
    figure: Figure | None = None
    """The scene of its picture."""
    video: Annotated[str, Meta(pattern=r"^https?://\S+$")] | None = None


class Card(FrontMatter, frozen=True, kw_only=True):
    """A drill: its front matter, where it came from, and its body by heading."""

    id: Id
    file: str
    """Path inside the library, with forward slashes."""
    sections: dict[str, str]
    """Heading to Markdown text, in the order of SECTIONS."""

    @property
    def levels(self) -> tuple[int, int]:
        """Lowest and highest level that the card is for."""
        low, _, high = str(self.level).partition("-")
        return int(low), int(high or low)

    def fits_level(self, level: int) -> bool:
        """Say whether the card is open to a gymnast of this level."""
        low, high = self.levels
        return low <= level <= high

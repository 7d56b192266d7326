"""The words that cards may use: events, levels, stages, skills, kit, faults and cautions."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from kb.model.figure import Pose
from kb.model.size import SizeRule
from kb.model.types import Id, Line


class Event(Struct, frozen=True, forbid_unknown_fields=True):
    """One of the four events, or the body preparation under them."""

    id: Id
    name: Line
    short: Line
    phases: tuple[Id, ...]
    """Where in a skill a fault of this event can show, in the order in which they happen."""


class Level(Struct, frozen=True, forbid_unknown_fields=True):
    """A compulsory level and the ages usual in it."""

    id: int
    name: Line
    ages: Line


class Stage(Struct, frozen=True, forbid_unknown_fields=True):
    """One of the small safe steps from the floor to the whole skill."""

    id: Id
    order: int
    name: Line
    means: Line


class SpottingGrade(Struct, frozen=True, forbid_unknown_fields=True):
    """How much a spotter does."""

    id: Id
    order: int
    name: Line
    means: Line


class DemandStep(Struct, frozen=True, forbid_unknown_fields=True):
    """The meaning of one value of a demand."""

    value: int
    means: Line


class Skill(Struct, frozen=True, forbid_unknown_fields=True):
    """A skill that a ladder leads to."""

    id: Id
    event: Id
    name: Line
    aka: tuple[Line, ...]
    level: int | str


class Equipment(Struct, frozen=True, forbid_unknown_fields=True):
    """A kind of kit, its size and what can stand in for it."""

    id: Id
    name: Line
    kind: Literal["mat", "block", "apparatus", "target", "hand", "hall"]
    aliases: tuple[Line, ...]
    cm: Annotated[tuple[float, ...], Meta(min_length=3, max_length=3)]
    """Length, width and height in cm as used; for a bar or a beam the height of its top edge above the floor."""
    stackable: bool
    firm: bool
    """Whether it may stand under feet or hands that push."""
    lands: Literal["back", "roll", "feet", "none"]
    """The most that may land on it."""
    source: Line
    instead: tuple[Id, ...] = ()
    """What can stand in, best first."""
    folded_cm: tuple[float, ...] | None = None
    sections_cm: tuple[float, ...] | None = None
    height_cm: tuple[float, float] | None = None
    """Lowest and highest setting of an adjustable piece."""


class Deduction(Struct, frozen=True, forbid_unknown_fields=True):
    """What a judge may take for a fault, with its rule set and edition."""

    id: Id
    points: str
    what: Line
    rule_set: Line
    edition: Line
    grade: Literal["A", "B", "M"]
    """A read in the issuing body's text, B in a secondary text, M from memory."""


class Cause(Struct, frozen=True, forbid_unknown_fields=True):
    """One mechanism behind a fault."""

    id: Id
    name: Line
    tell: Line
    """The ten-second check that tells this cause from the others."""
    first: tuple[Id, ...]
    """The cards to begin with."""


class Fault(Struct, frozen=True, forbid_unknown_fields=True):
    """Something that a coach sees go wrong."""

    id: Id
    event: Id
    skills: tuple[Id, ...]
    phase: Id
    name: Line
    looks_like: Line
    heard_as: Annotated[tuple[Line, ...], Meta(min_length=8)]
    """Ways a coach, an assistant, a parent or the child says it."""
    causes: Annotated[tuple[Cause, ...], Meta(min_length=2, max_length=4)]
    deduction: Id | None = None


class Said(Struct, frozen=True):
    """One more way a fault is said, from the lists beside the vocabulary."""

    fault: Id
    voice: str
    """Who speaks: head-coach, assistant, parent, judge, child, texting or abroad."""
    author: int
    text: Line


class Caution(Struct, frozen=True, forbid_unknown_fields=True):
    """A stop-and-refer sign."""

    id: Id
    name: Line
    say: str
    """What the program tells the coach to do."""
    patterns: tuple[str, ...]
    """Regular expressions over the lower-case words of a question."""
    source: str


class ReadingWords(Struct, frozen=True, forbid_unknown_fields=True):
    """How limits are said inside a question: patterns over the question in lower case, by what they tell."""

    numbers: dict[str, int] = {}
    plurals: dict[str, int] = {}
    level: tuple[str, ...] = ()
    age: tuple[str, ...] = ()
    height: tuple[str, ...] = ()
    spotters_none: tuple[str, ...] = ()
    spotters_some: tuple[str, ...] = ()
    group: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    bare: tuple[str, ...] = ()
    bare_kit: tuple[Id, ...] = ()
    """What a gym without special kit still has."""
    not_kit: tuple[str, ...] = ()
    """Aliases of kit that mean something else in the description of a fault."""
    event: dict[str, tuple[str, ...]] = {}
    teach: tuple[str, ...] = ()
    small: tuple[str, ...] = ()
    """Words that tell nothing about a fault when a skill is asked for."""
    fault_words: tuple[str, ...] = ()
    """Words of the body and of faults: with one of them beside the skill a question is about a fault."""
    no_sign: tuple[str, ...] = ()
    """What only sounds like a stop-and-refer sign; taken out before the signs are looked for."""
    contractions: tuple[str, ...] = ()
    """Words without their apostrophe that are no typing errors."""


class Vocabulary(Struct, frozen=True):
    """Everything that cards may refer to, by id, in the order of the files."""

    events: dict[str, Event]
    levels: dict[int, Level]
    stages: dict[str, Stage]
    spotting: dict[str, SpottingGrade]
    demand: dict[str, tuple[DemandStep, ...]]
    equipment: dict[str, Equipment]
    skills: dict[str, Skill]
    deductions: dict[str, Deduction]
    faults: dict[str, Fault]
    cautions: dict[str, Caution]
    reading: ReadingWords | None = None
    poses: dict[str, Pose] = {}
    """Positions of a gymnast, for the figures of cards."""
    sizes: dict[str, SizeRule] = {}
    """Rules for what must fit the child."""

"""A question as it was read, and the answer to it."""

from typing import Literal

from msgspec import Struct

from kb.model.card import Demand
from kb.model.size import SizedPiece

Verdict = Literal["answered", "no_good_match", "stop_and_refer"]


class Question(Struct, frozen=True):
    """What the coach asked and what was read out of her words."""

    text: str
    symptom: str
    """The words that describe what she sees, after limits have been taken out."""
    event: str | None = None
    level: int | None = None
    without: tuple[str, ...] = ()
    """Kit that is missing."""
    have: dict[str, int] | None = None
    """Kit that there is, by id; None when no kit list was given."""
    kit: tuple[tuple[str, int, tuple[float, ...] | None], ...] | None = None
    """The same as lines of a kit list: item, count, the club's own size in cm where it differs."""
    spotters: int | None = None
    corrections: tuple[tuple[str, str], ...] = ()
    """Words that were mended: as typed, as read."""
    age: int | None = None
    """Years."""
    height_cm: int | None = None
    group: int | None = None
    """How many children are at the station."""
    read: dict[str, str] = {}
    """What was read from the words and not given as an option: the field and the words that say it."""


class CauseMatch(Struct, frozen=True):
    """A likely cause of a fault and the check that tells it from the others."""

    id: str
    name: str
    tell: str


class FaultMatch(Struct, frozen=True):
    """A fault that the words point to."""

    id: str
    event: str
    name: str
    share: float
    """Part of all the evidence that points to this fault, 0 to 1."""
    causes: tuple[CauseMatch, ...]


class LadderPlace(Struct, frozen=True):
    """Where a drill stands on the way to its main skill."""

    skill: str
    rung: int
    of: int
    before: tuple[str, ...]
    """Cards of the rung below."""
    after: tuple[str, ...]
    """Cards of the rung above."""


class DrillMatch(Struct, frozen=True):
    """A drill that mends the fault."""

    id: str
    title: str
    event: str
    level: tuple[int, int]
    score: float
    fault: str
    cause: str
    why: tuple[str, ...]
    equipment: tuple[str, ...]
    spotting: dict[str, str | int]
    ladder: LadderPlace
    ready_when: str
    caution: str
    """The line of the card's "Keep safe" that says when to stop."""
    sizes: tuple[SizedPiece, ...] = ()
    """What must fit the child, when her height or age is known."""
    used: str = ""
    """What the practice log says: 'used 4 times with Slate, helped 3'."""


class SetAside(Struct, frozen=True):
    """A drill that would have been in the answer but for a limit."""

    id: str
    reason: str
    title: str = ""
    instead: str | None = None
    """The drill that does the same job inside the limits, where there is one."""


class Rung(Struct, frozen=True):
    """One step of a ladder."""

    rung: int
    card: str
    title: str
    stage: str
    level: tuple[int, int]
    spotting: str
    ready_when: str
    instead: tuple[str, ...] = ()
    """Other cards on the same rung."""
    ways: dict[str, str] = {}
    """For each of them what it is: another way, one that needs no spotter, one for a gym without a piece of kit; and
    what the practice log says of it."""
    demand: Demand | None = None
    """What one repetition asks of the child."""
    closed: str = ""
    """Why no card of this rung can be used inside the limits; empty when one can."""
    used: str = ""
    """What the practice log says of the card: 'used 4 times with Slate, helped 3'."""


class Ladder(Struct, frozen=True):
    """The way to a skill, lowest rung first."""

    skill: str
    start: int
    """The rung to begin on for the level asked for."""
    rungs: tuple[Rung, ...]
    here: int | None = None
    """The rung of the card asked for."""
    set_aside: tuple[SetAside, ...] = ()
    """What the limits take away, with what stands in on the same rung."""


class StopSign(Struct, frozen=True):
    """A sign in the words that ends coaching and calls for help."""

    id: str
    name: str
    heard: str
    """The words of the question that are the sign."""
    say: str
    source: str


class Answer(Struct, frozen=True):
    """What the tool says to a question."""

    question: Question
    verdict: Verdict
    caution: StopSign | None
    faults: tuple[FaultMatch, ...]
    drills: tuple[DrillMatch, ...]
    set_aside: tuple[SetAside, ...]
    took_ms: float
    which_event: tuple[str, ...] = ()
    """Events between which the words do not decide; the coach is asked."""
    ladder: Ladder | None = None
    """The way to the skill, when the question was how to teach one."""

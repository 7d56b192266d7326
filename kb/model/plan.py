"""The plan of an evening: who is where, when, with which drill and which coach; readable, editable, checkable."""

from typing import Literal

from msgspec import Struct

from kb.model.evening import Coach, Team
from kb.model.types import Id, Line

Status = Literal["optimal", "feasible", "infeasible"]


class KitUse(Struct, frozen=True, forbid_unknown_fields=True):
    """Pieces of kit at a station."""

    item: Id
    count: int


class OwnDrill(Struct, frozen=True, forbid_unknown_fields=True):
    """What one child does while her team is at a station that is not for her."""

    child: int
    card: str
    """Empty: she sits this one out beside the coach."""
    why: str


class Turn(Struct, frozen=True, forbid_unknown_fields=True):
    """One team at one station."""

    group: Line
    event: Id
    card: Id
    coach: str = ""
    """Who stands by, holds or watches; empty for a station that runs by itself."""
    also: tuple[str, ...] = ()
    """Further coaches who spot."""
    grade: str = ""
    """What the coach does: none-needed, watch, by-the-side, hands-on."""
    reps: int = 1
    """Repetitions of each child."""
    kit: tuple[KitUse, ...] = ()
    """Pieces in use, stand-ins as taken."""
    instead: tuple[OwnDrill, ...] = ()
    """Children who do something else."""
    note: str = ""


class Slot(Struct, frozen=True, forbid_unknown_fields=True):
    """One turn of the rotation."""

    slot: int
    start: str
    """Clock time, 17:12."""
    minutes: int
    """With the change to the next station."""
    rotation: tuple[Turn, ...]
    idle: tuple[str, ...] = ()
    """Teams without a station."""


class Way(Struct, frozen=True, forbid_unknown_fields=True):
    """One way out of a clash, and the best plan that it leads to."""

    words: str
    objective: float
    status: Status
    slots: tuple[Slot, ...] = ()


class Clash(Struct, frozen=True, forbid_unknown_fields=True):
    """The smallest set of wishes that cannot all be met, in words."""

    words: str
    wishes: tuple[str, ...]
    ways: tuple[Way, ...] = ()


class Plan(Struct, frozen=True, forbid_unknown_fields=True):
    """An evening. Everything that a check of a plan changed by hand needs is in it, but for the cards."""

    status: Status
    bound: float
    """No plan costs less than this."""
    objective: float
    """What the missed wishes cost together; 0 is a perfect evening."""
    slots: tuple[Slot, ...]
    clashes: tuple[Clash, ...] = ()
    gap: float = 0.0
    """(objective - bound) / objective."""
    parts: dict[str, int] = {}
    """The objective by wish."""
    missed: tuple[str, ...] = ()
    """Wishes that were not met, in words."""
    notes: tuple[str, ...] = ()
    """What the coach should know: gaps of the library, how practice is organised and why."""
    themes: tuple[str, ...] = ()
    date: str = ""
    """2027-01-12, when it was given."""
    start: str = ""
    minutes: int = 0
    warm_up: int = 0
    tidy_up: int = 0
    change: int = 0
    """Minutes of a slot for the change of stations."""
    teams: tuple[Team, ...] = ()
    coaches: tuple[Coach, ...] = ()
    lanes: dict[str, int] = {}
    kit: dict[str, int] = {}
    """Pieces there are."""
    seed: int = 0
    alternatives: "tuple[Plan, ...]" = ()
    later: "tuple[Plan, ...]" = ()
    """The sessions that follow this one."""


class PlanProblem(Struct, frozen=True):
    """Something that the check of a plan found."""

    slot: int
    """0 for the whole evening."""
    group: str
    message: str
    advice: bool = False
    """A wish that is missed, no rule that is broken."""

    def __str__(self) -> str:
        where = ", ".join(part for part in (f"slot {self.slot}" if self.slot else "", self.group) if part)
        return f"{where}: {self.message}" if where else self.message


class SheetSize(Struct, frozen=True):
    """Sizes of a station for one team, in one line each."""

    group: str
    lines: tuple[str, ...]


class StationSheet(Struct, frozen=True):
    """One printed sheet: a station with its picture, sizes, cues and cautions."""

    card: str
    title: str
    event: str
    spotting: str
    kit: tuple[str, ...]
    turns: tuple[str, ...]
    """When which team comes: '17:12 Copper A'."""
    svg: str | None
    sizes: tuple[SheetSize, ...]
    sections: dict[str, str]
    """Heading to Markdown: Set up, Do, Say, Look for, Easier, Harder, Keep safe."""
    notes: tuple[str, ...] = ()


class CoachStrip(Struct, frozen=True):
    """What one coach needs on a strip of paper."""

    coach: str
    lines: tuple[str, ...]


class PlanSheet(Struct, frozen=True):
    """Everything that is printed of an evening; writers of files take it as it is."""

    title: str
    head: tuple[str, ...]
    """Lines under the title."""
    columns: tuple[str, ...]
    """Teams."""
    rows: tuple[tuple[str, ...], ...]
    """Time first, then a cell for each team; a line break between its lines."""
    stations: tuple[StationSheet, ...]
    coaches: tuple[CoachStrip, ...]
    notes: tuple[str, ...]
    notice: str

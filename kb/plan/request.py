"""What the coach asks for: themes, squads, kit, coaches, time, and her wishes."""

from datetime import datetime

from msgspec import Struct

from kb.library.groupsfile import GroupsFile
from kb.size.stock import KitLine

WARM_UP, TIDY_UP = 12, 6
"""Minutes when the groups file and the call say nothing (common practice, no source)."""


class PlanRequest(Struct, frozen=True, kw_only=True):
    """One evening, or several sessions of it."""

    themes: tuple[str, ...]
    groups: GroupsFile
    kit: dict[str, int]
    """Pieces there are, by id."""
    kit_lines: tuple[KitLine, ...] = ()
    """The same as lines of the kit list, with the club's own sizes; stations are then sized for the children."""
    coaches: int
    minutes: int
    """Of the whole session."""
    start: datetime | None = None
    """When the first session begins."""
    open_events: dict[str, int | None] = {}
    """Events open tonight and their lanes; those of the groups file, else all of them, when empty."""
    warm_up: int | None = None
    tidy_up: int | None = None
    slot: int | None = None
    """Minutes of a slot, when the coach fixes them."""
    pins: tuple[str, ...] = ()
    """CARD@GROUP or CARD@GROUP@SLOT."""
    avoid: tuple[str, ...] = ()
    """Cards that are not wanted."""
    seed: int = 0
    alternatives: int = 0
    sessions: tuple[datetime, ...] = ()
    """All sessions, the first one included; one without a date when empty."""
    weeks: int = 1
    mix: bool = False
    seconds: float = 20.0
    """Longest search for one plan."""
    mastered: dict[str, tuple[str, ...]] = {}
    """Squad to the cards that its log marks as mastered; they do not come again."""

    def warm_minutes(self) -> int:
        """Return the minutes of the warm-up: of the call, of the groups file, or the usual ones."""
        return next(m for m in (self.warm_up, self.groups.warm_up, WARM_UP) if m is not None)

    def tidy_minutes(self) -> int:
        """Return the minutes for tidying up."""
        return next(m for m in (self.tidy_up, self.groups.tidy_up, TIDY_UP) if m is not None)

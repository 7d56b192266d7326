"""The practice log: which drill, which squad, when, and what came of it. Squads and numbers, never names."""

import datetime
from typing import Literal, get_args

from msgspec import Struct

Result = Literal["helped", "no-change", "too-hard", "mastered"]
RESULTS: tuple[Result, ...] = get_args(Result)
By = Literal["week", "fault", "squad"]
REPORTS: tuple[By, ...] = get_args(By)


class LogEntry(Struct, frozen=True):
    """One use of a drill."""

    number: int
    """Counts up through the file; 0 before it is written."""
    when: datetime.date
    card: str
    result: Result
    group: str | None = None
    """The squad; None when it was not said."""
    child: int | None = None
    """Her number in the squad; None when the whole squad is meant."""
    fault: str | None = None
    """The fault that the drill was meant for; None when it was not said."""
    note: str | None = None


class LogCounts(Struct, frozen=True):
    """How often something was used and what came of it."""

    helped: int = 0
    mastered: int = 0
    no_change: int = 0
    too_hard: int = 0

    @property
    def uses(self) -> int:
        """How often altogether."""
        return self.helped + self.mastered + self.no_change + self.too_hard

    @property
    def good(self) -> int:
        """How often it did what it is for."""
        return self.helped + self.mastered

    @property
    def bad(self) -> int:
        """How often it did not."""
        return self.no_change + self.too_hard


class LogRow(Struct, frozen=True):
    """One line of a report."""

    id: str
    """The ISO week ('2026-W10'), the fault's id or the squad; empty when it was not said."""
    name: str
    uses: int
    counts: LogCounts


class LogReport(Struct, frozen=True):
    """The practice log by week, fault or squad."""

    by: By
    group: str | None
    """The squad that it is about; None for all."""
    uses: int
    rows: tuple[LogRow, ...]
    notes: tuple[str, ...] = ()
    """What the reader has to know about how it was counted."""

"""The part of a library that keeps the practice log: write, take back, read, report."""

import datetime
import re
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import FileUnusable, OutOfRange, PersonNamed, UnknownName, UsageError
from kb.facade.base import Base

if TYPE_CHECKING:
    from kb.log.file import LogFile
    from kb.log.tally import Uses
    from kb.model.log import By, LogEntry, LogReport, Result

FIRST_DAY = datetime.date(2000, 1, 1)
"""No practice is logged for a day before this: it is a typing error."""
LONGEST_GROUP, LONGEST_NOTE = 30, 200
"""Letters."""
MOST_CHILDREN = 99
_GROUP = re.compile(r"[^\W_]+(?:[ -][^\W_]+){0,3}")


class PracticeLog(Base):
    """What a library does with its practice log."""

    @property
    def log_file(self) -> Path:
        """Where the practice log lies, or will lie."""
        from kb.log.home import log_path

        return log_path(self.folder)

    def log(  # noqa: PLR0913 - what is known of one use, each by name
        self,
        card: str,
        result: "Result",
        *,
        group: str | None = None,
        child: int | None = None,
        fault: str | None = None,
        when: datetime.date | None = None,
        note: str | None = None,
        sure: bool = False,
    ) -> "LogEntry":
        """Write down that a drill was used and what came of it, today or on a day before; return what was written.

        A child is a number in her squad. `sure` lets through a text that looks as if it names a person.

        Raises UnknownName for a card, fault or result, OutOfRange, PersonNamed, UsageError for a squad or note that
        cannot be written so, and FileUnusable, with the file as it was.
        """
        from kb.log.file import append
        from kb.model.log import RESULTS, LogEntry

        self.card(card)
        if result not in RESULTS:
            raise UnknownName("result", [result], RESULTS)
        if fault is not None and fault not in self.vocabulary.faults:
            raise UnknownName("fault", [fault], self.vocabulary.faults)
        day = when or datetime.date.today()
        if not FIRST_DAY <= day <= datetime.date.today():
            raise OutOfRange("The date", day, f"from {FIRST_DAY} to today")
        if child is not None and not 1 <= child <= MOST_CHILDREN:
            raise OutOfRange("The child's number", child, f"from 1 to {MOST_CHILDREN}")
        if child is not None and group is None:
            raise UsageError("A child is a number in a squad; name the squad too.")
        squads = self._squads()
        squad = _squad(group, squads)
        text = _note(note)
        if not sure:
            self._question_names(squad, text, squads)
        entry, mended = append(self.log_file, LogEntry(0, day, card, result, squad, child, fault, text))
        self._tell(mended)
        return entry

    def undo_log(self) -> "LogEntry":
        """Take back the entry written last, for good, and return it. Raises UsageError without one, FileUnusable."""
        from kb.log.file import take_back

        entry, mended = take_back(self.log_file)
        self._tell(mended)
        return entry

    def log_entries(self, group: str | None = None) -> "tuple[LogEntry, ...]":
        """Return what was logged, with one squad or all, in the order in which it was written. Raises FileUnusable."""
        from kb.log.tally import of_group

        return tuple(of_group(self._log().entries, group))

    def log_report(self, by: "By", group: str | None = None) -> "LogReport":
        """Return the log by week, fault or squad, of one squad or all. Raises UnknownName, FileUnusable."""
        from kb.log.report import log_report
        from kb.model.log import REPORTS

        if by not in REPORTS:
            raise UnknownName("report", [by], REPORTS)
        entries = self._log().entries
        known = set(self.index.card_ids)
        cards = {name: self.card(name) for name in {entry.card for entry in entries} & known}
        return log_report(entries, by, cards, self.vocabulary.faults, group)

    def write_report(self, report: "LogReport", path: Path) -> None:
        """Draw a report into a .svg or .png file. Raises UsageError, FileUnusable."""
        from kb.draw.png import write_svg
        from kb.log.plot import report_svg

        write_svg(report_svg(report), path, width_cm=16)

    def uses(self, group: str | None = None) -> "Uses | None":
        """Return what came of the drills, with one squad or all; None when nothing is logged.

        A log that cannot be read is told and left aside: a question is answered without it.
        """
        if not self.log_file.is_file():  # nothing is loaded for a log that is not there
            return None
        from kb.log.tally import Uses

        try:
            log = self._log()
        except FileUnusable as error:
            self._tell(f"Answered without the practice log: {error}")
            return None
        if not log.entries:
            return None
        found = Uses(log.entries, group)
        if group and not found:
            self._tell(f"Nothing is logged with {group}; squads in the log: {', '.join(self._squads()) or 'none'}.")
        return found or None

    def mastered(self, group: str, child: int | None = None) -> frozenset[str]:
        """Return the cards that a squad, or one child of it, has mastered and not lost since. Raises FileUnusable."""
        from kb.log.tally import mastered

        return mastered(self._log().entries, group, child)

    def _log(self) -> "LogFile":
        """Read the log when it changed since it was last read; tell once what is wrong in it."""
        from kb.log.file import LogFile, read_log

        path = self.log_file
        try:
            seen = path.stat()
        except OSError:
            return LogFile()
        stamp = (path, seen.st_ino, seen.st_size, seen.st_mtime_ns)
        last: tuple[object, LogFile] | None = self.__dict__.get("_log_read")
        if last and last[0] == stamp:
            return last[1]
        log = read_log(path)
        self.__dict__["_log_read"] = (stamp, log)
        for problem in log.problems:
            self._tell(problem)
        return log

    def _squads(self) -> list[str]:
        """Return the squads of the log as they were first written."""
        squads = {entry.group.casefold(): entry.group for entry in reversed(self._log().entries) if entry.group}
        return sorted(squads.values())

    def _question_names(self, group: str | None, note: str | None, squads: list[str]) -> None:
        from kb.log.names import person_named

        known = self.index.words.keys() | {
            word.casefold() for squad in (*squads, group or "") for word in squad.split()
        }
        if group and group not in squads and (words := person_named(group, self.index.words)):
            raise PersonNamed("squad", words, "children are a squad and a number (--group Slate --child 4).")
        if note and (words := person_named(note, known)):
            raise PersonNamed("note", words, "write a squad and a number (Slate 4) in its place.")

    def _tell(self, line: str | None) -> None:
        if line and self._say:
            self._say(line)


def _squad(group: str | None, squads: list[str]) -> str | None:
    """Return a squad as it is written in the log. Raises UsageError for what is no squad."""
    if group is None:
        return None
    name = " ".join(group.split())
    if not _GROUP.fullmatch(name) or len(name) > LONGEST_GROUP:
        raise UsageError(f"The squad is '{group}'; write it in letters and digits, such as Slate or L4.")
    known = {squad.casefold(): squad for squad in squads}
    first, _, number = name.rpartition(" ")
    if number.isdigit() and first.casefold() in known and name.casefold() not in known:
        raise UsageError(f"The squad is '{group}'; write --group {known[first.casefold()]} --child {number}.")
    return known.get(name.casefold(), name)


def _note(note: str | None) -> str | None:
    """Return a note on one line. Raises UsageError for one that is too long."""
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in note or "").split())
    if len(text) > LONGEST_NOTE:
        raise UsageError(f"The note has {len(text)} letters; it must have at most {LONGEST_NOTE}.")
    return text or None

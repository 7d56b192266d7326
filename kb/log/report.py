"""The practice log as a table: by week, by fault or by squad."""

import datetime
from collections.abc import Callable, Mapping, Sequence

from kb.log.tally import counts_of, of_group
from kb.model import Card, Fault
from kb.model.log import By, LogEntry, LogReport, LogRow

LONGEST_SPAN = 60
"""Weeks up to which those without an entry are shown too; over a longer time they would hide the others."""
NO_SQUAD, NO_FAULT = "no squad said", "no fault said"

Key = Callable[[LogEntry], tuple[str, str]]


def log_report(
    entries: Sequence[LogEntry],
    by: By,
    cards: Mapping[str, Card],
    faults: Mapping[str, Fault],
    group: str | None = None,
) -> LogReport:
    """Count the entries by week (oldest first), fault or squad (most used first).

    An entry that names no fault counts for the one that its card is first of all made for; a note says how many did.
    `cards` holds the cards that are named in the entries and still in the library.
    """
    theirs = of_group(entries, group)
    keys: dict[By, Key] = {
        "week": lambda entry: week_of(entry.when),
        "squad": lambda entry: (entry.group or "", entry.group or NO_SQUAD),
        "fault": lambda entry: _fault(entry, cards, faults),
    }
    rows: dict[tuple[str, str], list[LogEntry]] = {key: [] for key in (_weeks(theirs) if by == "week" else [])}
    for entry in theirs:
        rows.setdefault(keys[by](entry), []).append(entry)
    made = [LogRow(name, title, len(found), counts_of(found)) for (name, title), found in rows.items()]
    made.sort(key=lambda row: (row.id,) if by == "week" else (not row.id, -row.uses, row.name))
    inferred = sum(entry.fault is None for entry in theirs) if by == "fault" else 0
    notes = (f"{inferred} of {len(theirs)} name no fault and count for what their card is made for.",)
    return LogReport(by, group, len(theirs), tuple(made), notes if inferred else ())


def week_of(day: datetime.date) -> tuple[str, str]:
    """Return the ISO week of a day and how a coach reads it: ('2026-W10', '2 to 8 March 2026')."""
    year, week, weekday = day.isocalendar()
    first = day - datetime.timedelta(days=weekday - 1)
    last = first + datetime.timedelta(days=6)
    begins = f"{first.day}" if first.month == last.month else f"{first.day} {first:%b}"
    begins += f" {first.year}" if first.year != last.year else ""
    return f"{year}-W{week:02}", f"{begins} to {last.day} {last:%b %Y}"


def _weeks(entries: Sequence[LogEntry]) -> list[tuple[str, str]]:
    """Return every week from the first to the last, where that is not too long a time."""
    if not entries:
        return []
    first, last = min(entry.when for entry in entries), max(entry.when for entry in entries)
    span = (last - first).days // 7 + 1
    if span > LONGEST_SPAN:
        return []
    return list(dict.fromkeys([*(week_of(first + datetime.timedelta(weeks=n)) for n in range(span)), week_of(last)]))


def _fault(entry: LogEntry, cards: Mapping[str, Card], faults: Mapping[str, Fault]) -> tuple[str, str]:
    card = cards.get(entry.card)
    made_for = card.corrects[0].fault if card and card.corrects else ""
    name = entry.fault or made_for
    if not name:
        return "", NO_FAULT
    fault = faults.get(name)
    return name, f"{fault.name} ({fault.event})" if fault else name

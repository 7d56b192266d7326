"""What came of each drill, for one squad or for all: the words that stand beside it, and whether it helped."""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from kb.model.log import LogCounts, LogEntry

LEAST_USES = 2
"""Uses from which a drill can be said not to help: once is chance."""
SQUADS_NAMED = 3


class Use(Struct, frozen=True):
    """What came of one drill."""

    counts: LogCounts
    squads: dict[str, LogCounts] = {}
    """The same for each squad; '' where none was said."""

    @property
    def did_not_help(self) -> bool:
        """It was tried more than once, and more often than not nothing came of it."""
        return self.counts.uses >= LEAST_USES and self.counts.bad > self.counts.good

    def beaten_by(self, other: "Use") -> list[str]:
        """Return the squads that the other drill helped and this one did not: the same children, so it can be said."""
        if not (self.did_not_help and other.counts.good > other.counts.bad):
            return []
        pairs = {name: (counts, other.squads.get(name, LogCounts())) for name, counts in self.squads.items()}
        return [name for name, (mine, its) in sorted(pairs.items()) if mine.bad > mine.good and its.good > its.bad]

    @property
    def text(self) -> str:
        """'used 4 times with Slate, helped 3'; empty when it was not used."""
        if not self.counts.uses:
            return ""
        times = "once" if self.counts.uses == 1 else f"{self.counts.uses} times"
        squads = sorted(filter(None, self.squads))
        named = f"{len(squads)} squads" if len(squads) > SQUADS_NAMED else listed(squads)
        return f"used {times}{f' with {named}' if named else ''}, {counted(self.counts)}"


class Uses:
    """The log as the search sees it: for one squad, or for all."""

    def __init__(self, entries: Iterable[LogEntry], group: str | None = None) -> None:
        self._of_card: dict[str, list[LogEntry]] = {}
        for entry in of_group(entries, group):
            self._of_card.setdefault(entry.card, []).append(entry)

    def __bool__(self) -> bool:
        return bool(self._of_card)

    def of(self, card: str, fault: str = "") -> Use:
        """Return what came of a drill that is offered for a fault ('' for none).

        A use that was meant for another fault says nothing about this one, unless it was too hard.
        """
        entries = self._of_card.get(card, [])
        counting = [one for one in entries if not fault or one.fault in (None, fault) or one.result == "too-hard"]
        squads = {name: [one for one in counting if one.group == name] for name in {one.group for one in counting}}
        return Use(counts_of(counting), {name or "": counts_of(found) for name, found in squads.items()})


def of_group(entries: Iterable[LogEntry], group: str | None) -> list[LogEntry]:
    """Return the entries of a squad, however its letters are written; all of them without one."""
    wanted = group.casefold() if group else None
    return [one for one in entries if wanted is None or (one.group or "").casefold() == wanted]


def counts_of(entries: Iterable[LogEntry]) -> LogCounts:
    """Count the results."""
    results = [entry.result for entry in entries]
    return LogCounts(*(results.count(one) for one in ("helped", "mastered", "no-change", "too-hard")))


def counted(counts: LogCounts) -> str:
    """'helped 3, too hard 1': what helped first, always said when nothing else good can be."""
    parts = [f"helped {counts.helped}"] if counts.helped or not counts.mastered else []
    said = (("mastered", counts.mastered), ("no change", counts.no_change), ("too hard", counts.too_hard))
    return ", ".join(parts + [f"{name} {number}" for name, number in said if number])


def listed(names: Sequence[str]) -> str:
    """'Amber, Copper and Slate'."""
    *first, last = names or [""]
    return f"{', '.join(first)} and {last}" if first else last


def mastered(entries: Iterable[LogEntry], group: str, child: int | None = None) -> frozenset[str]:
    """Return the cards that a squad, or one child of it, has mastered and not found too hard or useless since.

    What one child did says nothing about the squad; what the squad did counts for the child.
    """
    state: dict[str, bool] = {}
    theirs = [one for one in of_group(entries, group) if one.child is None or one.child == child]
    for entry in sorted(theirs, key=lambda one: (one.when, one.number)):
        state[entry.card] = entry.result == "mastered" or (entry.result == "helped" and state.get(entry.card, False))
    return frozenset(card for card, is_mastered in state.items() if is_mastered)

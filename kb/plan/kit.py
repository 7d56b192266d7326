"""Which pieces of kit may run short when several stations stand at once."""

from collections import defaultdict

from kb.model.evening import Evening, Need

Fixed = tuple[int, tuple[str, int]]
"""Station, and the piece it always takes with its count."""


def needs_in_doubt(evening: Evening) -> tuple[list[tuple[int, Need]], list[Fixed]]:
    """Return needs for which a stand-in may have to be chosen, and the others that use a piece which may run short.

    A need takes the first piece that is there in number. Only where that piece can run short, because more is wanted
    by the stations that can stand together, its stand-ins come into play; and that may make those short.
    """
    needs = [
        (number, Need(need.count, tuple(item for item in need.options if evening.stock.get(item, 0) >= need.count)))
        for number, station in enumerate(evening.stations)
        for need in station.needs
        if all(item in evening.stock for item in need.options)  # one without a limit is always there
    ]
    wide = [False] * len(needs)
    while True:
        short = _short(evening, needs, wide)
        grown = [
            was or not need.options or any(item in short for item in _taken(need, wide=was))
            for (_, need), was in zip(needs, wide, strict=True)
        ]
        if grown == wide:
            break
        wide = grown
    doubt = [entry for entry, is_wide in zip(needs, wide, strict=True) if is_wide and len(entry[1].options) != 1]
    fixed = [
        (number, (need.options[0], need.count))
        for (number, need), is_wide in zip(needs, wide, strict=True)
        if is_wide and len(need.options) == 1
    ]
    return doubt, fixed


def _taken(need: Need, *, wide: bool) -> tuple[str, ...]:
    return need.options if wide else need.options[:1]


def _short(evening: Evening, needs: list[tuple[int, Need]], wide: list[bool]) -> set[str]:
    """Return the pieces of which the stations that can stand together may want more than there are."""
    wants: dict[str, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for (number, need), is_wide in zip(needs, wide, strict=True):
        for item in _taken(need, wide=is_wide):
            wants[item][number] += need.count
    most = len(evening.teams)
    return {
        item
        for item, counts in wants.items()
        if sum(sorted(counts.values(), reverse=True)[:most]) > evening.stock[item]
    }

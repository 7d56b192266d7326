"""The rules of an evening, tried out by a person's method; nothing of the solver's model is used here.

Pieces of kit and hands of coaches are given out by trying (backtracking), not by counting.
"""

from collections.abc import Iterator, Sequence

from kb.model.evening import Coach, Evening, Need, Places

TWO_IN_SIGHT = 2
"""Stations of one event that one coach can watch side by side (common practice, no source)."""


def broken_rules(evening: Evening, places: Places, only: int | None = None) -> Iterator[tuple[int, str, str]]:
    """Yield slot (from 0), team and what is wrong, for every rule of safety, kit and place that a plan breaks.

    With `only` one slot (and what comes just before and after it) is looked at.
    """
    right = {(fit.team, fit.station) for fit in evening.fits}
    for slot in range(evening.slots) if only is None else (only,):
        here = [(team, row[slot]) for team, row in enumerate(places)]
        open_now = [(team, station) for team, station in here if station is not None]
        for team, number in open_now:
            name, station = evening.teams[team].name, evening.stations[number]
            if (team, number) not in right:
                yield slot, name, f"{station.card} is not for this team"
            if len(evening.teams[team].children) > station.room:
                yield slot, name, f"{station.card} has room for {station.room}"
            if sum(other == number for _, other in open_now) > 1:
                yield slot, name, f"{station.card} is taken by another team"
            if places[team].count(number) > 1:
                yield slot, name, f"{station.card} comes twice"
            yield from ((slot, name, text) for text in _back_to_back(evening, places[team], slot))
        for unit in evening.units:
            if len({evening.stations[number].event for team, number in open_now if team in unit}) > 1:
                yield slot, evening.teams[unit[0]].squad, "its teams are on different events"
        numbers = [number for _, number in open_now]
        yield from ((slot, "", text) for text in _hall(evening, numbers))


def _back_to_back(evening: Evening, row: Sequence[int | None], slot: int) -> Iterator[str]:
    for other in (slot - 1, slot + 1):
        if not 0 <= other < evening.slots:
            continue
        one, two = row[slot], row[other]
        if one is None or two is None:
            continue
        a, b = evening.stations[one], evening.stations[two]
        if a.wrist_heavy and b.wrist_heavy:
            yield f"{a.card} and {b.card} are both heavy on the wrists, one after the other"
        if a.landing_heavy and b.landing_heavy:
            yield f"{a.card} and {b.card} are both heavy on landings, one after the other"


def _hall(evening: Evening, numbers: Sequence[int]) -> Iterator[str]:
    stations = [evening.stations[number] for number in numbers]
    for event, lanes in evening.lanes.items():
        if (many := sum(station.event == event for station in stations)) > lanes:
            yield f"{many} stations on {event}, and there is room for {lanes}"
    if give_out([need for station in stations for need in station.needs], dict(evening.stock)) is None:
        cards = ", ".join(station.card for station in stations)
        yield f"the kit does not do for {cards} at the same moment"
    hands = [station.event for station in stations for _ in range(station.spotters)]
    watched: dict[str, int] = {}
    for station in stations:
        if station.watched:
            watched[station.event] = watched.get(station.event, 0) + 1
    eyes = sum(-(-many // TWO_IN_SIGHT) for many in watched.values())
    if not _hands_free(hands, list(evening.coaches), eyes):
        yield f"{len(hands)} to stand by or hold and {eyes} to watch, and the coaches do not do for it"


def give_out(needs: Sequence[Need], left: dict[str, int]) -> list[str] | None:
    """Return the piece that each need gets, or None when no way of giving out does it."""
    taken: list[str] = []

    def give(place: int) -> bool:
        if place == len(needs):
            return True
        for item in needs[place].options:
            there = left.get(item)
            if there is None or there >= needs[place].count:
                if there is not None:
                    left[item] = there - needs[place].count
                taken.append(item)
                if give(place + 1):
                    return True
                taken.pop()
                if there is not None:
                    left[item] = there
        return False

    return taken if give(0) else None


def _hands_free(hands: Sequence[str], coaches: list[Coach], eyes: int) -> bool:
    if not hands:
        return len(coaches) >= eyes
    return any(
        _hands_free(hands[1:], coaches[:place] + coaches[place + 1 :], eyes)
        for place, coach in enumerate(coaches)
        if coach.may_spot(hands[0])
    )

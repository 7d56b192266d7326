"""The evening as a linear program: x(team, station, slot) is 1 when the team works there then.

The tight form: a team is at one station or idle (exactly one); a station has at most one team in a slot; a wish is met
or its miss is 1; kit, lanes and coaches are counted for each slot. Rows marked 'cut' exclude no plan; they raise the
bound, because a team that gets an event must come to it once and a station that is used must be set up once.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import combinations

from kb.model.evening import Evening, Pin, Places, Wanted
from kb.plan.kit import needs_in_doubt
from kb.plan.price import shares
from kb.plan.rows import Rows, Terms

WATCHED_BY_ONE = 2
"""Stations of one event that one coach can watch side by side (common practice, no source)."""


class Firm:
    """Wishes that must be met: events of teams, teams that are never idle, pins."""

    def __init__(
        self, pins: Iterable[Pin] = (), wanted: Iterable[Wanted] = (), busy: Iterable[int] = (), *, bare: bool = False
    ) -> None:
        self.pins, self.wanted, self.busy = tuple(pins), frozenset(wanted), frozenset(busy)
        self.bare = bare
        """Only these wishes count, met or missed; every other cost is left out."""


class Model:
    """The program of an evening, its columns by what they mean."""

    def __init__(self, evening: Evening, firm: Firm | None = None) -> None:
        self.evening, self.firm = evening, firm or Firm(evening.pins)
        self.rows = Rows()
        self.slots = range(evening.slots)
        self.x: dict[tuple[int, int, int], int] = {}
        self.of_team: dict[tuple[int, int], list[int]] = defaultdict(list)
        """Team and slot to columns."""
        self.at: dict[tuple[int, int], list[int]] = defaultdict(list)
        """Station and slot to columns."""
        self.visit: dict[tuple[int, int], list[int]] = defaultdict(list)
        """Team and station to columns, over all slots."""
        self.on: dict[tuple[int, str, int], list[int]] = defaultdict(list)
        """Team, event and slot to columns."""
        self.unit_on: dict[tuple[int, str, int], list[int]] = {}
        """Teams that walk together (number of the unit), event and slot to columns."""
        self._columns()
        for add in (self._teams, self._stations, self._kit, self._coaches, self._loads, self._wishes):
            add()
        if not self.firm.bare:
            for add in (self._fair, self._set_up, self._walks, self._apart, self._twins):
                add()

    def places(self, values: Sequence[float]) -> Places:
        """Return who is where, read off the values of the columns."""
        found: list[list[int | None]] = [[None] * self.evening.slots for _ in self.evening.teams]
        for (team, station, slot), column in self.x.items():
            if values[column] > 0.5:
                found[team][slot] = station
        return tuple(map(tuple, found))

    def exclude(self, places: Places, differ: int) -> None:
        """Ask for a plan in which at least so many visits (team and station) are others."""
        visits = {(team, s) for team, row in enumerate(places) for s in row if s is not None}
        columns = [column for visit in visits for column in self.visit[visit]]
        self.rows.row(columns, high=len(visits) - differ)

    # --- columns

    def _columns(self) -> None:
        for fit in self.evening.fits:
            event = self.evening.stations[fit.station].event
            for slot in self.slots:
                column = self.rows.column(0 if self.firm.bare else fit.cost)
                self.x[fit.team, fit.station, slot] = column
                self.of_team[fit.team, slot].append(column)
                self.at[fit.station, slot].append(column)
                self.visit[fit.team, fit.station].append(column)
                self.on[fit.team, event, slot].append(column)
        for number, unit in enumerate(self.evening.units):
            for slot in self.slots:
                for event in self.evening.events:
                    self.unit_on[number, event, slot] = (
                        [self.rows.column()] if len(unit) > 1 else self.on[unit[0], event, slot]
                    )

    # --- what may never be broken

    def _teams(self) -> None:
        weight = self.evening.weights.idle
        for team in range(len(self.evening.teams)):
            for slot in self.slots:
                idle = self.rows.column(weight, 0.0 if team in self.firm.busy else 1.0)
                self.rows.row([*self.of_team[team, slot], idle], 1, 1)
        for columns in self.visit.values():
            self.rows.row(columns, high=1)
        for number, unit in enumerate(self.evening.units):
            if len(unit) > 1:
                for slot in self.slots:
                    self._together(number, unit, slot)

    def _together(self, number: int, unit: tuple[int, ...], slot: int) -> None:
        """Teams of a unit are on the unit's event, or idle; the unit is on one event, and only where a team is."""
        self.rows.row([c for event in self.evening.events for c in self.unit_on[number, event, slot]], high=1)
        for event in self.evening.events:
            (here,) = self.unit_on[number, event, slot]
            for team in unit:
                self.rows.row(dict.fromkeys(self.on[team, event, slot], -1.0) | {here: 1.0}, low=0)
            every = [column for team in unit for column in self.on[team, event, slot]]
            self.rows.row(dict.fromkeys(every, 1.0) | {here: -1.0}, low=0)

    def _stations(self) -> None:
        for columns in self.at.values():
            self.rows.row(columns, high=1)
        for event, lanes in self.evening.lanes.items():
            there = [n for n, station in enumerate(self.evening.stations) if station.event == event]
            for slot in self.slots:
                if len(there) > lanes:
                    self.rows.row([c for n in there for c in self.at[n, slot]], high=lanes)

    def _kit(self) -> None:
        doubt, fixed = needs_in_doubt(self.evening)
        for slot in self.slots:
            use: dict[str, Terms] = defaultdict(dict)
            for station, (options, count) in fixed:
                for column in self.at[station, slot]:
                    use[options][column] = use[options].get(column, 0) + count
            for station, need in doubt:
                choice = {item: self.rows.column() for item in need.options}
                terms: Terms = dict.fromkeys(choice.values(), 1.0)
                self.rows.row(terms | dict.fromkeys(self.at[station, slot], -1.0), 0, 0)
                for item, column in choice.items():
                    use[item][column] = need.count
            for item, terms in use.items():
                self.rows.row(terms, high=self.evening.stock[item])

    def _coaches(self) -> None:
        """Free hands for each slot; by Hall's theorem counting by sets of events is enough."""
        stations, coaches = self.evening.stations, self.evening.coaches
        spotted = sorted({station.event for station in stations if station.spotters})
        few = []
        for size in range(1, len(spotted) + 1):
            for events in combinations(spotted, size):
                able = sum(any(coach.may_spot(event) for event in events) for coach in coaches)
                if able < len(coaches):
                    few.append((events, able))
        watched: dict[str, list[int]] = defaultdict(list)
        for number, station in enumerate(stations):
            if station.watched:
                watched[station.event].append(number)
        for slot in self.slots:
            for events, able in few:
                self.rows.row(self._hands(slot, events), high=able)
            total = self._hands(slot, spotted)
            for numbers in watched.values():
                total[self._watcher(numbers, slot)] = 1.0
            self.rows.row(total, high=len(coaches))

    def _hands(self, slot: int, events: Iterable[str]) -> Terms:
        stations = self.evening.stations
        return {
            column: float(station.spotters)
            for number, station in enumerate(stations)
            if station.spotters and station.event in events
            for column in self.at[number, slot]
        }

    def _watcher(self, numbers: list[int], slot: int) -> int:
        most = -(-len(numbers) // WATCHED_BY_ONE)
        watcher = self.rows.column(0, most)
        for number in numbers:
            self.rows.row({watcher: 1.0} | dict.fromkeys(self.at[number, slot], -1.0), low=0)
        every = [column for number in numbers for column in self.at[number, slot]]
        self.rows.row({watcher: float(WATCHED_BY_ONE)} | dict.fromkeys(every, -1.0), low=0)
        return watcher

    def _loads(self) -> None:
        """Nothing that is heavy on the wrists, or on landings, twice in a row."""
        stations = self.evening.stations
        for heavy in ("wrist_heavy", "landing_heavy"):
            for team in range(len(self.evening.teams)):
                numbers = [n for t, n in self.visit if t == team and getattr(stations[n], heavy)]
                for slot in self.slots[1:]:
                    self.rows.row([self.x[team, n, s] for n in numbers for s in (slot - 1, slot)], high=1)

    # --- wishes

    def _wishes(self) -> None:
        weights = self.evening.weights
        self.came: dict[tuple[int, str], int] = {}
        for pin in self.firm.pins:
            self.rows.row(self._pinned(pin), 1)
        for pin in self.evening.pins if self.firm.bare else ():
            self.rows.row([self.rows.column(weights.event_missed), *self._pinned(pin)], 1)
        for wish in self.evening.wanted():
            upper = 0.0 if wish in self.firm.wanted else 1.0
            miss = self.rows.column(weights.theme_missed if wish.light else weights.event_missed, upper)
            self.rows.row([miss, *(c for n in wish.stations for c in self.visit[wish.team, n])], low=1)
            if not wish.theme:
                self.came[wish.team, wish.event] = miss

    def _pinned(self, pin: Pin) -> list[int]:
        slots = self.slots if pin.slot is None else (pin.slot,)
        return [self.x[pin.team, pin.station, slot] for slot in slots]

    def _fair(self) -> None:
        weight = self.evening.weights.unfair
        for team, (low, high) in enumerate(shares(self.evening)):
            for event in (event for t, event in self.came if t == team and event != "shapes"):
                there = [c for slot in self.slots for c in self.on[team, event, slot]]
                over, under = (self.rows.column(weight, self.evening.slots) for _ in range(2))
                self.rows.row(dict.fromkeys(there, 1.0) | {over: -1.0}, high=high)
                self.rows.row(dict.fromkeys(there, 1.0) | {under: 1.0}, low=low)

    def _set_up(self) -> None:
        for number in range(len(self.evening.stations)):
            starts = [self.rows.column(self.evening.weights.rebuild) for _ in self.slots]
            for slot, start in enumerate(starts):
                terms = dict.fromkeys(self.at[number, slot], -1.0)
                terms |= dict.fromkeys(self.at[number, slot - 1] if slot else (), 1.0)
                self.rows.row(terms | {start: 1.0}, low=0)
            for (_, station), columns in self.visit.items():  # cut
                if station == number:
                    self.rows.row(dict.fromkeys(starts, 1.0) | dict.fromkeys(columns, -1.0), low=0)

    def _walks(self) -> None:
        weights = self.evening.weights
        for number, unit in enumerate(self.evening.units):
            for event in self.evening.events:
                cost = (0 if self.evening.mix else weights.walk) + (weights.late_shapes if event == "shapes" else 0)
                if not cost:
                    continue
                arrivals = list(self.unit_on[number, event, 0])
                for slot in self.slots[1:]:
                    come = self.rows.column(cost * len(unit))
                    terms = dict.fromkeys(self.unit_on[number, event, slot], -1.0)
                    terms |= dict.fromkeys(self.unit_on[number, event, slot - 1], 1.0)
                    self.rows.row(terms | {come: 1.0}, low=0)
                    arrivals.append(come)
                for team in unit:
                    if miss := self.came.get((team, event)):  # cut
                        self.rows.row([miss, *arrivals], low=1)
                if len(unit) == 1:
                    self._heavy_apart(unit[0], event, arrivals)

    def _heavy_apart(self, team: int, event: str, arrivals: list[int]) -> None:
        """Between two heavy stations of one stay there is a light one: more heavy ones ask for more stays (cut)."""
        stations = self.evening.stations
        here = [n for t, n in self.visit if t == team and stations[n].event == event]
        for heavy in ("wrist_heavy", "landing_heavy"):
            if any(getattr(stations[n], heavy) for n in here):
                signs = {c: 1.0 if getattr(stations[n], heavy) else -1.0 for n in here for c in self.visit[team, n]}
                terms = {column: -sign for column, sign in signs.items()}
                for column in arrivals:
                    terms[column] = terms.get(column, 0.0) + 1.0
                self.rows.row(terms, low=0)

    def _apart(self) -> None:
        teams = self.evening.teams
        for one, other in combinations(range(len(teams)), 2):
            if self.evening.together or teams[one].squad != teams[other].squad:
                continue
            for slot in self.slots:
                apart = self.rows.column(self.evening.weights.apart)
                for event in self.evening.events:
                    here, there = self.on[one, event, slot], self.on[other, event, slot]
                    for a, b in ((here, there), (there, here)):
                        self.rows.row(dict.fromkeys(a, -1.0) | dict.fromkeys(b, 1.0) | {apart: 1.0}, low=0)

    def _twins(self) -> None:
        kinds: dict[tuple[int, str], list[int]] = defaultdict(list)
        for (team, station), columns in self.visit.items():
            if kind := self.evening.stations[station].kind:
                kinds[team, kind] += columns
        for columns in kinds.values():
            if len(columns) > self.evening.slots:
                twin = self.rows.column(self.evening.weights.twin, self.evening.slots)
                self.rows.row(dict.fromkeys(columns, 1.0) | {twin: -1.0}, high=1)

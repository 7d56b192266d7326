"""The path from a request to a plan, as a list of steps."""

from msgspec.structs import replace

from kb.errors import UsageError
from kb.model import Plan
from kb.model.evening import Coach, Evening, Pin, Places, Team
from kb.plan.assemble import Assembler, missed_in_words
from kb.plan.candidates import Answers, Candidates, candidates, open_events, pinned, stock_of
from kb.plan.clash import can_meet
from kb.plan.clock import CHANGE, DEFAULT_START, Clock, clock_for
from kb.plan.notes import organisation
from kb.plan.price import price
from kb.plan.relax import clashes, wish_words
from kb.plan.request import PlanRequest
from kb.plan.solve import Found, solve
from kb.plan.teams import teams_of
from kb.search import Searcher

VISITS = 2
"""Stations of one event that a team should get to in an evening, time permitting (common practice, no source)."""
USUAL = 0.8
"""Part of the stations whose visit is not longer than a slot allows."""
UNLIKE = 0.2
"""Part of the visits in which an alternative differs from every plan before it."""


class Planner:
    """One evening from its request to its plan; `week` counts from 1.

    Raises UsageError (and its kinds) for themes, cards, groups and times that no plan can be made of.
    """

    def __init__(self, request: PlanRequest, searcher: Searcher, week: int = 1) -> None:
        self.request, self.searcher = request, searcher
        self.teams = teams_of(request.groups.groups, self._rooms())
        answers: Answers = {}
        self.found = candidates(request, self.teams, searcher, answers, week=week)
        self.clock = self._clock()
        longest = self.clock.minutes - CHANGE
        self.found = candidates(request, self.teams, searcher, answers, week=week, longest=longest)
        self.evening = self._evening(self.found, self.clock)
        self.assembler = Assembler(request, self.evening, self.found.cards, searcher.index)

    def plan(self) -> Plan:
        """Solve the evening; with the clashes when a wish is missed, and alternatives when they are asked for."""
        best = solve(self.evening, seconds=self.request.seconds, seed=self.request.seed)
        if best.places is None:
            return self._without_some_pins()
        plan = self.result(best)
        if {"event_missed", "idle"} & plan.parts.keys():
            plan = replace(plan, clashes=clashes(self, best.places))
        return replace(plan, alternatives=self._alternatives(best.places))

    def _without_some_pins(self) -> Plan:
        """Return the best plan with the pins that can be kept together, those given first before the others."""
        kept: list[Pin] = []
        for pin in self.evening.pins:
            if can_meet(replace(self.evening, pins=(*kept, pin)), (*kept, pin)).places is not None:
                kept.append(pin)
        free = replace(self.evening, pins=tuple(kept))
        plan = self.result(solve(free, seconds=self.request.seconds, seed=self.request.seed))
        gone = [wish_words(pin, self.evening) for pin in self.evening.pins if pin not in kept]
        words = tuple(f"Not met: {text}." for text in gone)
        return replace(plan, status="infeasible", missed=(*words, *plan.missed), clashes=clashes(self, None))

    def result(self, found: Found) -> Plan:
        """Return a solved evening as a plan."""
        places = found.places or tuple((None,) * self.evening.slots for _ in self.teams)
        request = self.request
        return Plan(
            status="optimal" if found.proven else "feasible",
            bound=found.bound,
            objective=found.objective,
            gap=round(found.gap, 4),
            slots=self.assembler.slots(places, self.clock),
            parts={part: cost for part, cost in price(self.evening, places).items() if cost},
            missed=missed_in_words(self.evening, places),
            notes=(*self.found.gaps, *organisation(mix=request.mix)),
            themes=request.themes,
            date=f"{request.start:%Y-%m-%d}" if request.start else "",
            start=f"{request.start:%H:%M}" if request.start else DEFAULT_START,
            minutes=request.minutes,
            warm_up=self.clock.warm_up,
            tidy_up=self.clock.tidy_up,
            change=CHANGE,
            teams=self.teams,
            coaches=self.evening.coaches,
            lanes=self.evening.lanes,
            kit={item: count for item, count in self.evening.stock.items() if count},
            seed=request.seed,
        )

    def _alternatives(self, best: Places) -> tuple[Plan, ...]:
        found: list[Plan] = []
        seen = [best]
        for _ in range(self.request.alternatives):
            visits = sum(station is not None for row in best for station in row)
            other = solve(
                self.evening,
                seconds=self.request.seconds,
                seed=self.request.seed,
                unlike=tuple(seen),
                differ=max(1, round(visits * UNLIKE)),
            )
            if other.places is None:
                break
            seen.append(other.places)
            found.append(replace(self.result(other), bound=other.bound))
        return tuple(found)

    def _rooms(self) -> dict[str, int]:
        """Return by squad the least room of the stations that are pinned on it."""
        found: dict[str, int] = {}
        for pin in self.request.pins:
            name, _, rest = pin.partition("@")
            squad = rest.partition("@")[0].lower()
            if name in self.searcher.index.card_ids:
                group = self.searcher.index.card(name).group
                for line in self.request.groups.groups:
                    if squad == line.name.lower() or squad.startswith(f"{line.name.lower()} "):
                        found[line.name] = min(found.get(line.name, 99), group.at_once + group.waiting)
        return found

    def _clock(self) -> Clock:
        things = {(self.found.stations[fit.station].event, theme) for fit in self.found.fits for theme in fit.themes}
        events = {event for event, _ in things}
        to_get_to = len([event for event, _ in things if event != "shapes"])
        asked = {pin.partition("@")[0] for pin in self.request.pins}
        visits = sorted(card.group.minutes for card in self.found.cards)
        usual = visits[int(len(visits) * USUAL)]
        usual = max([usual, *(card.group.minutes for card in self.found.cards if card.id in asked)])
        wishes = max(to_get_to, VISITS * len(events - {"shapes"})) + ("shapes" in events)
        return clock_for(self.request, usual, wishes)

    def _evening(self, found: Candidates, clock: Clock) -> Evening:
        pins = tuple(self._pin(one, clock) for pin in self.request.pins for one in self._expanded(pin))
        for pin in pins:
            card = found.cards[pin.station]
            if card.group.minutes + CHANGE > clock.minutes:
                raise UsageError(
                    f"--pin {card.id}: a visit takes {card.group.minutes} minutes and {CHANGE} to change, a slot has "
                    f"{clock.minutes}; make the slots longer with --slot."
                )
        lanes = {event: many for event, many in open_events(self.request, self.searcher).items() if many}
        return Evening(
            teams=self.teams,
            stations=found.stations,
            fits=found.fits,
            slots=clock.slots,
            coaches=coaches_of(self.request),
            stock=stock_of(self.request, self.searcher),
            lanes=lanes,
            pins=pins,
            mix=self.request.mix,
            together=_room_for_squads(self.teams, lanes),
        )

    def _expanded(self, pin: str) -> list[str]:
        """Return a pin on a squad as pins on its teams; with a slot, team after team from that slot on."""
        card, _, rest = pin.partition("@")
        _, at, slot = rest.partition("@")
        teams = [team for _, team in pinned(replace(self.request, pins=(pin,)), self.teams)]
        if not slot.isdigit():
            return [f"{card}@{team.name}{at}{slot}" for team in teams]
        return [f"{card}@{team.name}@{int(slot) + later}" for later, team in enumerate(teams)]

    def _pin(self, pin: str, clock: Clock) -> Pin:
        card, _, rest = pin.partition("@")
        name, at, slot = rest.partition("@")
        if at and not (slot.isdigit() and 1 <= int(slot) <= clock.slots):
            raise UsageError(f"--pin {pin}: the slot must be a number from 1 to {clock.slots}.")
        team = next(n for n, team in enumerate(self.teams) if team.name == name)
        station = next(n for n, found in enumerate(self.found.stations) if found.card == card)
        return Pin(team, station, int(slot) - 1 if at else None)


def _room_for_squads(teams: tuple[Team, ...], lanes: dict[str, int]) -> bool:
    """Say whether every open event has room for all the teams of a squad at once."""
    most = max(sum(other.squad == team.squad for other in teams) for team in teams)
    return all(many >= most for many in lanes.values())


def coaches_of(request: PlanRequest) -> tuple[Coach, ...]:
    """Return the coaches of the evening: those of the groups file first, then further ones who may spot everywhere."""
    named = request.groups.coaches[: request.coaches]
    taken = {coach.name for coach in named}
    more = (f"Coach {number}" for number in range(1, 100))
    free = [Coach(name) for name in more if name not in taken]
    return (*named, *free[: request.coaches - len(named)])

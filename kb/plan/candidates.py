"""Themes to stations: each theme is asked on every open event, and what is right for the level may stand tonight."""

from collections.abc import Iterable, Iterator

from msgspec import Struct

from kb.errors import UnknownName, UsageError
from kb.model import Answer, Card, DrillMatch
from kb.model.evening import Fit, Station, Team
from kb.plan.request import PlanRequest
from kb.plan.stations import frightens, station_of, why_not
from kb.search import Limits, Searcher, ask
from kb.size import child_of, squad_sizes

SHAPES = "shapes"
ASKED = 30
"""Drills looked at for each theme, event and level."""
KEPT, SHAPES_KEPT = 3, 6
"""Stations kept for each theme, event and level; more of the body shapes, where all teams may begin at once."""
BELOW, ABOVE, MOST = 2, 3, 12
"""Cost of each rung below and above the right one, and the most that rungs may cost."""
LATE_MOST = 3
"""Most that a late place in the answer costs: 1 for every two places."""
NEIGHBOUR = 4
"""Cost of a drill that is on the same ladder but does not name the theme."""
FILL = 10
"""Cost of a drill of the event that serves no theme: better than standing still."""
AFRAID = 6
"""Cost of a station that asks for what a child of the team is afraid of."""


class Choice(Struct, frozen=True):
    """A drill that serves a theme for a level, and how far it is from the best."""

    card: Card
    theme: str
    cost: int
    kind: str


class Candidates(Struct, frozen=True):
    """What may stand tonight and for whom."""

    stations: tuple[Station, ...]
    cards: tuple[Card, ...]
    """The card of each station."""
    fits: tuple[Fit, ...]
    gaps: tuple[str, ...]
    """Themes for which the library has nothing on an event, in words."""


Answers = dict[tuple[str, str, int], Answer]
"""Theme, event and level to the answer, so that nothing is asked twice."""


def candidates(  # noqa: PLR0913 - what one evening is made of, each by name
    request: PlanRequest,
    teams: tuple[Team, ...],
    searcher: Searcher,
    answers: Answers,
    *,
    week: int = 1,
    longest: int | None = None,
) -> Candidates:
    """Return the stations of all themes on all open events, and which team each is for.

    Args:
        request: themes, events, kit, pins.
        teams: the teams of the evening.
        searcher: the library.
        answers: filled with what was asked.
        week: from 1; from week to week the right rung is one higher.
        longest: minutes that a visit may take; any when None.

    Raises UsageError for a theme that is a
    stop-and-refer sign or that the library does not know, UnknownName for cards that there are not.
    """
    index = searcher.index
    if unknown := [name for name in request.avoid if name not in index.card_ids]:
        raise UnknownName("card", unknown, index.card_ids)
    events = open_events(request, searcher)
    gathered = _Gathered(request, searcher, answers, week, longest)
    gaps = []
    for theme in request.themes:
        known = False
        for event in events:
            some = False
            for team in teams:
                choices = gathered.choices(theme, event, team)
                some = some or bool(choices)
                gathered.add(team, teams.index(team), choices)
            known = known or some
            if not some and event != SHAPES:
                gaps.append(f"The library has nothing for '{theme}' on {event} that these teams and this kit can use.")
        if not known:
            raise UsageError(f"Nothing is found for the theme '{theme}'; say what you see: drillkb find '{theme}'.")
    for event in events:
        for number, team in enumerate(teams):
            gathered.fill(event, team, number)
    for card_id, team in pinned(request, teams):
        gathered.pin(card_id, team, teams.index(team))
    return gathered.result(tuple(gaps))


def open_events(request: PlanRequest, searcher: Searcher) -> dict[str, int | None]:
    """Return the open events with their lanes (None: no limit), in the order of the vocabulary."""
    known = searcher.index.vocabulary.events
    asked: dict[str, int | None] = request.open_events or dict(request.groups.lanes) or dict.fromkeys(known)
    if unknown := [name for name in asked if name not in known]:
        raise UnknownName("event", unknown, known)
    lanes = request.groups.lanes
    return {name: asked[name] or lanes.get(name) for name in known if name in asked}


def pinned(request: PlanRequest, teams: Iterable[Team]) -> Iterator[tuple[str, Team]]:
    """Yield card and team of every pin; a squad's name stands for all its teams. Raises UnknownName."""
    every = tuple(teams)
    for pin in request.pins:
        card, _, rest = pin.partition("@")
        name = rest.partition("@")[0]
        found = [team for team in every if name.lower() in (team.name.lower(), team.squad.lower())]
        if not found:
            raise UnknownName("group", [name], {n for team in every for n in (team.name, team.squad)})
        yield from ((card, team) for team in found)


class _Gathered:
    """Stations and fits as they come together."""

    def __init__(
        self, request: PlanRequest, searcher: Searcher, answers: Answers, week: int, longest: int | None
    ) -> None:
        self.request, self.searcher, self.answers = request, searcher, answers
        self.week, self.longest = week, longest
        self.index, self.words = searcher.index, searcher.index.vocabulary
        self.stock = stock_of(request, searcher)
        self.stations: dict[str, Station] = {}
        self.fits: dict[tuple[int, str], tuple[int, set[str]]] = {}

    def choices(self, theme: str, event: str, team: Team) -> list[Choice]:
        """Return the drills for a theme on an event that a team may do, best first."""
        key = (theme, event, team.level)
        if key not in self.answers:
            limits = Limits(
                event=event,
                level=team.level,
                have=self.request.kit,
                spotters=self.request.coaches,
                top=ASKED,
            )
            self.answers[key] = ask(theme, limits, self.searcher)
        answer = self.answers[key]
        if answer.caution:
            raise UsageError(f"'{theme}': {answer.caution.name}. {answer.caution.say} No plan is made of this.")
        found = []
        drills = [drill for drill in answer.drills if drill.event == event]
        for place, drill in enumerate(drills):
            card = self.index.card(drill.id)
            if self._closed(card, team):
                continue
            off = drill.ladder.rung - self._target_of(drill.ladder.skill, drill.ladder.of, team.level)
            cost = min(LATE_MOST, place // 2) + off_cost(off)
            found.append(Choice(card, theme, cost, _kind(drill, card)))
        if drills and len(found) < KEPT:
            found += self._neighbours(drills, team, {choice.card.id for choice in found})
        return self._sized(found, team, SHAPES_KEPT if event == SHAPES else KEPT)

    def _sized(self, choices: list[Choice], team: Team, count: int) -> list[Choice]:
        """Return the best so many whose station can be built for every child of the team from the hall's kit."""
        found: list[Choice] = []
        for choice in sorted(choices, key=lambda choice: choice.cost):
            if len(found) < count and self._can_build(choice.card, team):
                found.append(choice)
        return found

    def _can_build(self, card: Card, team: Team) -> bool:
        if not (card.size and team.heights and self.request.kit_lines):
            return True
        children = [(str(height), child_of(height, None, team.level)) for height in team.heights]
        try:
            return not squad_sizes(card, children, self.words, self.request.kit_lines).alone
        except UsageError:
            return False

    def _neighbours(self, drills: list[DrillMatch], team: Team, had: set[str]) -> list[Choice]:
        """Return drills of the same event from the ladders of the drills, for want of enough that name the theme."""
        found = []
        event = drills[0].event
        for skill in dict.fromkeys(drill.ladder.skill for drill in drills):
            rungs = self.index.ladder(skill)
            for rung, names in enumerate(rungs, start=1):
                for card in map(self.index.card, names):
                    if card.event != event or card.id in had or self._closed(card, team):
                        continue
                    had.add(card.id)
                    off = rung - self._target_of(skill, len(rungs), team.level)
                    found.append(Choice(card, "", NEIGHBOUR + off_cost(off), f"{skill}/{rung}"))
        return found

    def _closed(self, card: Card, team: Team) -> bool:
        if card.id in self.request.avoid or card.id in self.request.mastered.get(team.squad, ()):
            return True
        if self.longest is not None and card.group.minutes > self.longest:
            return True
        return bool(why_not(card, team, station_of(card, self.words, ""), self.stock))

    def _target_of(self, skill: str, of: int, level: int) -> int:
        levels = [self.index.card(name).levels for names in self.index.ladder(skill) for name in names]
        low, high = min(low for low, _ in levels), max(high for _, high in levels)
        return right_rung(level, (low, high), of, self.week)

    def add(self, team: Team, number: int, choices: Iterable[Choice]) -> None:
        """Put drills among the stations of a team."""
        for choice in choices:
            card = choice.card
            self.stations.setdefault(card.id, station_of(card, self.words, choice.kind))
            cost = choice.cost + (AFRAID if frightens(card, team) else 0)
            old = self.fits.get((number, card.id), (cost, set()))
            self.fits[number, card.id] = (min(old[0], cost), old[1] | ({choice.theme} if choice.theme else set()))

    def fill(self, event: str, team: Team, number: int) -> None:
        """Fill an event that has stations for a team, but too few to come back to, with others for its level."""
        here = [name for (one, name) in self.fits if one == number and self.stations[name].event == event]
        if not here or event == SHAPES or len(here) >= KEPT:
            return
        found = []
        for name in self.index.card_ids:
            card = self.index.card(name)
            if card.event != event or name in here or card.spotting.spotters or self._closed(card, team):
                continue
            place = self.index.place(card)
            off = place.rung - self._target_of(place.skill, place.of, team.level)
            found.append(Choice(card, "", FILL + off_cost(off), f"{place.skill}/{place.rung}"))
        self.add(team, number, self._sized(found, team, KEPT - len(here)))

    def pin(self, name: str, team: Team, number: int) -> None:
        """Put a pinned card among the stations of a team; raises UsageError when a safety rule forbids it."""
        if name not in self.index.card_ids:
            raise UnknownName("card", [name], self.index.card_ids)
        card = self.index.card(name)
        station = self.stations.setdefault(name, station_of(card, self.words, f"card/{name}"))
        if card.event not in open_events(self.request, self.searcher):
            raise UsageError(f"--pin {name}@{team.name}: {card.event} is not open tonight; open it with --open.")
        if reason := why_not(card, team, station, self.stock):
            raise UsageError(f"--pin {name}@{team.name} cannot be done: {reason}; pin another card.")
        self.fits.setdefault((number, name), (0, set()))

    def result(self, gaps: tuple[str, ...]) -> Candidates:
        """Return everything, stations in the order of the events and of their rungs."""
        order = {name: place for place, name in enumerate(self.words.events)}
        stage = {name: found.order for name, found in self.words.stages.items()}
        cards = sorted(
            (self.index.card(name) for name in self.stations),
            key=lambda card: (order[card.event], stage[card.stage], card.id),
        )
        numbers = {card.id: number for number, card in enumerate(cards)}
        best: dict[tuple[int, str], int] = {}
        for (team, name), (cost, _) in self.fits.items():
            key = (team, self.stations[name].event)
            best[key] = min(best.get(key, cost), cost)
        fits = tuple(
            Fit(team, numbers[name], cost - best[team, self.stations[name].event], tuple(sorted(themes)))
            for (team, name), (cost, themes) in sorted(self.fits.items())
        )
        return Candidates(tuple(self.stations[card.id] for card in cards), tuple(cards), fits, gaps)


def stock_of(request: PlanRequest, searcher: Searcher) -> dict[str, int]:
    """Return how many there are of every piece; walls and mirrors are without limit and not listed."""
    equipment = searcher.index.vocabulary.equipment.values()
    return {item.id: request.kit.get(item.id, 0) for item in equipment if item.kind != "hall"}


def right_rung(level: int, levels: tuple[int, int], of: int, week: int) -> int:
    """Return the rung of a ladder on which a level begins: as far up as the level is in the ladder's levels.

    A rule of thumb (common practice, no source) for want of a log; the card's 'ready when' decides. Each week is a rung
    higher.
    """
    low, high = levels
    part = (min(max(level, low), high) - low) / (high - low + 1)
    return min(of, 1 + int(part * of) + week - 1)


def off_cost(off: int) -> int:
    """Return what a drill costs that is so many rungs above the right one (below: negative)."""
    return min(MOST, ABOVE * off if off > 0 else -BELOW * off)


def _kind(drill: DrillMatch, card: Card) -> str:
    return f"{drill.fault}/{drill.cause}/{card.stage}" if drill.fault else f"{drill.ladder.skill}/{drill.ladder.rung}"

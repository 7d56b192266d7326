"""From 'who is where' to a plan: coaches, kit in hand, what single children do instead, words for what is missed."""

from collections.abc import Iterable, Sequence

from kb.index.store import Index
from kb.model import Card
from kb.model.evening import Coach, Evening, Places, Team
from kb.model.plan import KitUse, OwnDrill, Slot, Turn
from kb.plan.clock import DEFAULT_START, Clock
from kb.plan.hands import assign, posts
from kb.plan.request import PlanRequest
from kb.plan.rules import give_out
from kb.plan.stations import STANDS_BY, frightens, station_of

FEARS = {
    "backwards": "going backwards",
    "height": "height",
    "speed": "speed",
    "upside-down": "being upside down",
}
EASY_STAGES = ("floor", "floor-moving")
"""Stages from which a drill is taken for a child who cannot do that of her team."""


class Assembler:
    """Turns places into slots; one for an evening."""

    def __init__(self, request: PlanRequest, evening: Evening, cards: Sequence[Card], index: Index) -> None:
        self.request, self.evening, self.cards, self.index = request, evening, cards, index
        self.words = index.vocabulary

    def slots(self, places: Places, clock: Clock) -> tuple[Slot, ...]:
        """Return the slots of a plan."""
        begin = f"{self.request.start:%H:%M}" if self.request.start else DEFAULT_START
        where: dict[str, str] = {}
        used: dict[tuple[str, int], set[str]] = {}
        found = []
        for number, start in enumerate(clock.starts(begin)):
            turns = self._turns(places, number, where, used)
            idle = tuple(team.name for team, row in zip(self.evening.teams, places, strict=True) if row[number] is None)
            found.append(Slot(number + 1, start, clock.minutes, tuple(turns), idle))
        return tuple(found)

    def _turns(
        self, places: Places, slot: int, where: dict[str, str], used: dict[tuple[str, int], set[str]]
    ) -> list[Turn]:
        open_now = {team: row[slot] for team, row in enumerate(places) if row[slot] is not None}
        numbers = sorted(n for n in open_now.values() if n is not None)
        coaches = self._coaches(numbers, where)
        left = dict(self.evening.stock)
        kit = self._kit(numbers, left)
        turns = []
        for team_number, number in open_now.items():
            if number is None:
                continue
            team, card = self.evening.teams[team_number], self.cards[number]
            here = coaches.get(number, [])
            afraid = "; ".join(
                f"{who} is afraid of {FEARS[fear]}: begin with the easier one"
                for who, _, fear in (text.partition(": ") for text in frightens(card, team))
            )
            turns.append(
                Turn(
                    group=team.name,
                    event=card.event,
                    card=card.id,
                    coach=here[0].name if here else "",
                    also=tuple(coach.name for coach in here[1:]),
                    grade=card.spotting.grade,
                    reps=min(card.group.reps, card.cap or card.group.reps),
                    kit=kit[number],
                    instead=tuple(self._own(card, team, left, used, watched=bool(here))),
                    note=afraid,
                )
            )
        return turns

    def _coaches(self, numbers: Sequence[int], where: dict[str, str]) -> dict[int, list[Coach]]:
        wanted = posts(self.evening.stations, numbers)
        chosen = assign(wanted, self.evening.coaches, where) or []
        found: dict[int, list[Coach]] = {}
        for post, coach_number in zip(wanted, chosen, strict=False):
            coach = self.evening.coaches[coach_number]
            where[coach.name] = post.event
            for number in post.stations:
                found.setdefault(number, []).append(coach)
        return found

    def _kit(self, numbers: Sequence[int], left: dict[str, int]) -> dict[int, tuple[KitUse, ...]]:
        """Give out the kit, and take it from what is left."""
        stations = self.evening.stations
        needs = [(number, need) for number in numbers for need in stations[number].needs]
        taken = give_out([need for _, need in needs], dict(left)) or []
        found: dict[int, list[KitUse]] = {number: [] for number in numbers}
        for (number, need), item in zip(needs, taken, strict=False):
            found[number].append(KitUse(item, need.count))
            if item in left:
                left[item] -= need.count
        return {number: tuple(uses) for number, uses in found.items()}

    def _own(
        self, card: Card, team: Team, left: dict[str, int], used: dict[tuple[str, int], set[str]], *, watched: bool
    ) -> Iterable[OwnDrill]:
        """Yield what children without wrist load do while their team loads the wrists."""
        if card.load.wrists == "none":
            return
        for child in team.without("no-wrist-load"):
            had = used.setdefault((team.squad, child), set())
            own = next((c for c in self._easy(team.level, had, watched=watched) if self._fits_in(c, left)), None)
            if own:
                had.add(own.id)
            yield OwnDrill(child, own.id if own else "", "no wrist load this week")

    def _easy(self, level: int, had: set[str], *, watched: bool) -> Iterable[Card]:
        """Yield drills without wrist load for one child beside her team, those of the evening first."""
        names = [*(card.id for card in self.cards), *self.index.card_ids]
        for name in dict.fromkeys(names):
            card = self.index.card(name)
            order = self.words.spotting[card.spotting.grade].order
            heavy = station_of(card, self.words, "").landing_heavy
            if card.load.wrists != "none" or heavy or name in had or card.event != "shapes":
                continue
            if card.stage in EASY_STAGES and card.fits_level(level) and order <= (STANDS_BY - 1 if watched else 0):
                yield card

    def _fits_in(self, card: Card, left: dict[str, int]) -> bool:
        """Take the kit of a drill from what is left, if it is there."""
        needs = station_of(card, self.words, "").needs
        trial = dict(left)
        if give_out(needs, trial) is None:
            return False
        left.update(trial)
        return True


def missed_in_words(evening: Evening, places: Places) -> tuple[str, ...]:
    """Say which wishes a plan does not meet."""
    found = []
    for team, row in zip(evening.teams, places, strict=True):
        if many := row.count(None):
            found.append(f"{team.name} has no station in {many} slot{'s' if many > 1 else ''}.")
    gone: set[tuple[int, str]] = set()
    for wish in sorted(evening.wanted(), key=lambda wish: wish.light):
        if set(wish.stations) & set(places[wish.team]) or (wish.team, wish.event) in gone:
            continue
        name = evening.teams[wish.team].name
        if wish.light:
            found.append(f"{name} gets no '{wish.theme}' on {wish.event}." if wish.theme else f"{name} gets no shapes.")
        else:
            gone.add((wish.team, wish.event))
            found.append(f"{name} does not get to {wish.event}.")
    return tuple(found)

"""A plan from a file, checked turn by turn against cards, kit and coaches.

Nothing is shared with the code that made the plan: a fault there must not pass here. Read it with the rules in hand.
"""

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime

from kb.errors import nearest
from kb.model import Card, Plan, PlanProblem, Vocabulary
from kb.model.evening import Team
from kb.model.plan import Slot, Turn

HEAVY_LANDINGS = 12
"""Landings of one child in one visit that count as heavy: as `drillkb check` has it."""
SIGHT = 2
"""Stations of one event that one coach can watch."""


def audit(plan: Plan, cards: Mapping[str, Card], words: Vocabulary) -> list[PlanProblem]:
    """Return everything that is wrong with a plan, rules first, then wishes as advice."""
    found = list(_Audit(plan, cards, words).all())
    for number, later in enumerate(plan.later, start=2):
        found += [
            PlanProblem(one.slot, f"session {number}: {one.group}".rstrip(": "), one.message, one.advice)
            for one in audit(later, cards, words)
        ]
    return sorted(found, key=lambda one: (one.advice, one.slot, one.group))


class _Audit:
    def __init__(self, plan: Plan, cards: Mapping[str, Card], words: Vocabulary) -> None:
        self.plan, self.cards, self.words = plan, cards, words
        self.teams = {team.name: team for team in plan.teams}

    def all(self) -> Iterator[PlanProblem]:
        unknown = list(self.names())
        yield from unknown
        if unknown:
            return  # the other rules would only repeat it
        yield from self.times()
        for slot in self.plan.slots:
            yield from self.places(slot)
            for turn in slot.rotation:
                yield from (PlanProblem(slot.slot, turn.group, text) for text in self.turn(turn, slot))
            yield from (PlanProblem(slot.slot, "", text) for text in (*self.lanes(slot), *self.kit(slot)))
            yield from (PlanProblem(slot.slot, "", text) for text in self.coaches(slot))
        for team in self.plan.teams:
            yield from self.evening(team)

    def names(self) -> Iterator[PlanProblem]:
        """Teams, cards, coaches and pieces are known."""
        coaches = [coach.name for coach in self.plan.coaches]
        for slot in self.plan.slots:
            for turn in slot.rotation:
                named = [("group", turn.group, list(self.teams)), ("card", turn.card, list(self.cards))]
                named += [("card", own.card, list(self.cards)) for own in turn.instead if own.card]
                named += [("coach", name, coaches) for name in (turn.coach, *turn.also) if name]
                for kind, name, known in named:
                    if name not in known:
                        by_lower = {one.lower(): one for one in known}
                        near = nearest(name, by_lower, 1)
                        hint = f"; nearest: {by_lower[near[0]]}" if near else ""
                        yield PlanProblem(slot.slot, turn.group, f"no {kind} is called '{name}'{hint}")

    def times(self) -> Iterator[PlanProblem]:
        """Slots follow one another inside the session."""
        if [slot.slot for slot in self.plan.slots] != list(range(1, len(self.plan.slots) + 1)):
            yield PlanProblem(0, "", "the slots are not numbered 1, 2, 3 and so on")
        now = _minutes(self.plan.start) + self.plan.warm_up
        for slot in self.plan.slots:
            if _minutes(slot.start) < now:
                yield PlanProblem(slot.slot, "", f"begins at {slot.start}, before what comes before it has ended")
            now = max(now, _minutes(slot.start)) + slot.minutes
        if now + self.plan.tidy_up > _minutes(self.plan.start) + self.plan.minutes:
            yield PlanProblem(
                0, "", f"slots and {self.plan.tidy_up} minutes to tidy up run past the end of the session"
            )

    def places(self, slot: Slot) -> Iterator[PlanProblem]:
        """A team is in one place, and a station has one team."""
        for group, many in Counter(turn.group for turn in slot.rotation).items():
            if many > 1:
                yield PlanProblem(slot.slot, group, f"is in {many} places at once")
        for card, many in Counter(turn.card for turn in slot.rotation).items():
            if many > 1:
                yield PlanProblem(slot.slot, "", f"{many} teams are at {card}, which stands once")

    def turn(self, turn: Turn, slot: Slot) -> Iterator[str]:
        """Level, event, room, time, repetitions, wrists."""
        team, card = self.teams[turn.group], self.cards[turn.card]
        low, high = card.levels
        if not low <= team.level <= high:
            yield f"{card.id} is for levels {low} to {high}, the team is level {team.level}"
        if turn.event != card.event:
            yield f"{card.id} is a {card.event} drill, not {turn.event}"
        room = card.group.at_once + card.group.waiting
        if len(team.children) > room:
            yield f"{card.id} has room for {room} and {len(team.children)} come"
        if card.group.minutes + self.plan.change > slot.minutes:
            takes = f"{card.group.minutes} minutes and {self.plan.change} to change"
            yield f"{card.id} takes {takes}; the slot has {slot.minutes}"
        if card.cap is not None and turn.reps > card.cap:
            yield f"{turn.reps} repetitions of {card.id}, and a child may do {card.cap} in a session"
        spared = {note.number for note in team.notes if "no-wrist-load" in note.limits}
        spared |= set(team.children) if "no-wrist-load" in team.limits else set()
        for child in sorted(spared) if card.load.wrists != "none" else []:
            own = next((own for own in turn.instead if own.child == child), None)
            if own is None:
                yield f"{team.squad} {child} has no wrist load this week, and {card.id} loads the wrists"
            elif own.card and self.cards[own.card].load.wrists != "none":
                yield f"{team.squad} {child} has no wrist load this week, and {own.card} loads the wrists"

    def lanes(self, slot: Slot) -> Iterator[str]:
        """No more stations on an event than find room."""
        for event, many in Counter(turn.event for turn in slot.rotation).items():
            if self.plan.lanes and many > self.plan.lanes.get(event, 0):
                yield f"{many} stations on {event}, and there is room for {self.plan.lanes.get(event, 0)}"

    def kit(self, slot: Slot) -> Iterator[str]:
        """All pieces are there at the same moment, by some way of standing in; and as the plan says they are used."""
        wanted: list[tuple[str, int, tuple[str, ...]]] = []
        said: Counter[str] = Counter()
        for turn in slot.rotation:
            for name in (turn.card, *(own.card for own in turn.instead if own.card)):
                wanted += list(self._pieces(self.cards[name]))
            for use in turn.kit:
                said[use.item] += use.count
        if short := self._short(wanted):
            yield f"there is not enough {self._name(short)} for the stations of this slot"
        for item, count in said.items():
            known = self.words.equipment.get(item)
            if known is None:
                yield f"no piece of kit is called '{item}'"
            elif known.kind != "hall" and count > self.plan.kit.get(item, 0):
                yield f"{count} of {self._name(item)} are in use, and there are {self.plan.kit.get(item, 0)}"

    def _pieces(self, card: Card) -> Iterator[tuple[str, int, tuple[str, ...]]]:
        for piece in card.equipment:
            ways = tuple(dict.fromkeys((piece.item, *piece.instead, *self.words.equipment[piece.item].instead)))
            if not any(self.words.equipment[way].kind == "hall" for way in ways):
                yield piece.item, piece.count, ways

    def _short(self, wanted: list[tuple[str, int, tuple[str, ...]]]) -> str:
        """Return the piece at which every way of giving out the kit ends, or nothing when one way does it.

        Ways are tried one after another, pieces with the fewest stand-ins first.
        """
        order = sorted(wanted, key=lambda want: (len(want[2]), want[0]))
        furthest = 0
        stack = [(0, dict(self.plan.kit))]
        seen: set[tuple[int, tuple[tuple[str, int], ...]]] = set()
        while stack:
            place, left = stack.pop()
            if place == len(order):
                return ""
            furthest = max(furthest, place)
            _, count, ways = order[place]
            for way in reversed(ways):
                if left.get(way, 0) >= count:
                    rest = left | {way: left[way] - count}
                    mark = (place + 1, tuple(sorted(rest.items())))
                    if mark not in seen:
                        seen.add(mark)
                        stack.append((place + 1, rest))
        return order[furthest][0]

    def coaches(self, slot: Slot) -> Iterator[str]:
        """Who stands by or holds does nothing else; who watches sees at most two stations of one event."""
        spotting: dict[str, str] = {}
        watching: dict[str, list[Turn]] = {}
        may = {coach.name: coach.spots for coach in self.plan.coaches}
        for turn in slot.rotation:
            card = self.cards[turn.card]
            order = self.words.spotting[card.spotting.grade].order
            here = [name for name in (turn.coach, *turn.also) if name]
            need = max(1, card.spotting.spotters) if order >= 2 else 1 if order == 1 else 0
            if len(set(here)) < need:
                hands = f"{need} coach{'es' if need > 1 else ''} ({card.spotting.grade})"
                yield f"{turn.card} needs {hands} and has {len(here)}"
            for name in here if order >= 2 else ():
                spots = may[name]
                if spots is not None and card.event not in spots:
                    yield f"{name} may not stand by or hold on {card.event}"
                if name in spotting:
                    yield f"{name} spots at {spotting[name]} and at {turn.card} at once"
                spotting[name] = turn.card
            for name in here if order == 1 else ():
                watching.setdefault(name, []).append(turn)
        for name, turns in watching.items():
            if name in spotting:
                yield f"{name} spots at {spotting[name]} and cannot watch {turns[0].card}"
            if len(turns) > SIGHT or len({turn.event for turn in turns}) > 1:
                yield f"{name} watches {', '.join(turn.card for turn in turns)}; two of one event can be seen at once"

    def evening(self, team: Team) -> Iterator[PlanProblem]:
        """What holds over the whole evening of a team."""
        turns = [next((t for t in slot.rotation if t.group == team.name), None) for slot in self.plan.slots]
        for card, many in Counter(turn.card for turn in turns if turn).items():
            if many > 1:
                yield PlanProblem(0, team.name, f"comes {many} times to {card}")
        for slot, (before, now) in enumerate(itertools.pairwise(turns), start=2):
            if before and now:
                one, two = self.cards[before.card], self.cards[now.card]
                if one.load.wrists == two.load.wrists == "high":
                    yield PlanProblem(slot, team.name, f"{one.id} and {two.id} are both heavy on the wrists")
                if min(card.load.landings * card.group.reps for card in (one, two)) >= HEAVY_LANDINGS:
                    yield PlanProblem(slot, team.name, f"{one.id} and {two.id} are both heavy on landings")
        for event in self.plan.lanes:
            if event != "shapes" and not any(turn and turn.event == event for turn in turns):
                yield PlanProblem(0, team.name, f"does not get to {event}", advice=True)
        if many := turns.count(None):
            yield PlanProblem(0, team.name, f"has no station in {many} slots", advice=True)

    def _name(self, item: str) -> str:
        return self.words.equipment[item].name.lower()


def _minutes(clock: str) -> int:
    at = datetime.strptime(clock, "%H:%M")
    return at.hour * 60 + at.minute

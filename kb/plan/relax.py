"""Ways out of a clash: what is dropped, added or lent, and the best plan that each way leads to."""

from collections.abc import Iterator
from time import perf_counter
from typing import TYPE_CHECKING

from msgspec.structs import replace

from kb.model.evening import Coach, Evening, Pin, Places, Wanted
from kb.model.plan import Clash, Way
from kb.plan.assemble import Assembler
from kb.plan.clash import Wish, can_meet, firm_of, met, smallest_clash
from kb.plan.clock import Clock
from kb.plan.greedy import greedy
from kb.plan.solve import solve

if TYPE_CHECKING:
    from kb.plan.build import Planner

SEARCH = 15.0
"""Most seconds for finding what clashes, and again for finding what would help."""
WAYS = 6
"""Ways that are shown."""


def clashes(planner: "Planner", best: Places | None) -> tuple[Clash, ...]:
    """Return the smallest clash of an evening with its ways out; nothing when there is none, or it is not certain.

    `best` is the best plan that is known.
    """
    evening = planner.evening
    found = smallest_clash(evening, SEARCH)
    if not found.wishes:
        return ()
    wishes = found.wishes
    names = tuple(wish_words(wish, evening) for wish in wishes)
    ways: list[Way | None] = []
    helps: list[str] = []
    end = perf_counter() + SEARCH
    for words, cause, changed in _more(planner):
        if perf_counter() > end or len(helps) == WAYS // 2:
            break
        if can_meet(changed, wishes).places is not None:
            helps.append(cause)
            ways.append(_way(planner, words, changed, wishes, best))
    for number, wish in enumerate(wishes):
        if isinstance(wish, Pin) and wish.slot is not None:
            any_slot = replace(wish, slot=None)
            changed = replace(evening, pins=tuple(any_slot if pin == wish else pin for pin in evening.pins))
            words = f"let it be another slot: {wish_words(any_slot, evening)}"
            ways.append(_way(planner, words, changed, (*wishes[:number], any_slot, *wishes[number + 1 :]), best))
    for wish, name in list(zip(wishes, names, strict=True))[: WAYS - len(ways)]:
        others = tuple(other for other in wishes if other != wish)
        free = replace(evening, pins=tuple(pin for pin in evening.pins if pin != wish))
        ways.append(_way(planner, f"drop: {name}", free, (*others, *(p for p in free.pins if p not in others)), best))
    taken = [(wish.station, wish.slot) for wish in wishes if isinstance(wish, Pin) and wish.slot is not None]
    if len(set(taken)) < len(taken):
        helps.append("a station has one team at a time")
    because = f" In the way: {'; '.join(helps)}." if helps else " No single piece, place, coach or slot more helps."
    text = f"These wishes cannot all be met: {'; '.join(names)}.{because}"
    return (Clash(text, names, tuple(way for way in ways if way is not None)),)


def wish_words(wish: Wish, evening: Evening) -> str:
    """Say a wish as a coach would."""
    if isinstance(wish, int):
        return f"{evening.teams[wish].name} has a station in every slot"
    team = evening.teams[wish.team].name
    if isinstance(wish, Wanted):
        return f"{team} gets to {wish.event}"
    when = "" if wish.slot is None else f" in slot {wish.slot + 1}"
    return f"{team} works at {evening.stations[wish.station].card}{when}"


def _way(planner: "Planner", words: str, evening: Evening, wishes: tuple[Wish, ...], best: Places | None) -> Way | None:
    """Return the best plan of a changed evening that meets the wishes."""
    seconds = max(2.0, planner.request.seconds / 4)
    known = (best if best and evening.slots == len(best[0]) else None, greedy(evening))
    begin = next((places for places in known if places and all(met(wish, places) for wish in wishes)), None)
    firm = firm_of(wishes, bare=False)
    found = solve(evening, firm, seconds=seconds, seed=planner.request.seed, begin=begin)
    if found.places is None:
        return None
    clock = planner.clock
    longer = Clock(evening.slots, clock.minutes, clock.warm_up, clock.tidy_up)
    slots = Assembler(planner.request, evening, planner.found.cards, planner.searcher.index).slots(found.places, longer)
    return Way(words, found.objective, "optimal" if found.proven else "feasible", slots)


def _more(planner: "Planner") -> Iterator[tuple[str, str, Evening]]:
    """Yield what one could add: words for the way, words for what is in the way, and the evening with it."""
    evening, equipment = planner.evening, planner.searcher.index.vocabulary.equipment
    wanted = {item for station in evening.stations for need in station.needs for item in need.options[:1]}
    for item in sorted(wanted, key=lambda item: (evening.stock.get(item, 0), item)):
        many = evening.stock.get(item, 0)
        if 0 < many <= len(evening.teams):
            name = equipment[item].name.lower()
            only = f"there is only one {name}" if many == 1 else f"there are only {many} of {name}"
            yield f"borrow one more {name}", only, replace(evening, stock=evening.stock | {item: many + 1})
    if evening.together:
        stay = "the teams of a squad stay on one event"
        yield "let the teams of a squad go to different events", stay, replace(evening, together=False)
    for event, many in evening.lanes.items():
        room = f"{event} has room for {many} station{'s' if many > 1 else ''} at a time"
        yield (
            f"make room for one more station on {event}",
            room,
            replace(evening, lanes=evening.lanes | {event: many + 1}),
        )
    coaches = f"there are {len(evening.coaches)} coaches"
    extra = Coach("One more coach")
    yield "find one more coach", coaches, replace(evening, coaches=(*evening.coaches, extra))
    minutes = planner.clock.minutes
    slots = f"there are {evening.slots} slots"
    yield f"add {minutes} minutes, one slot more", slots, replace(evening, slots=evening.slots + 1)

"""The smallest set of wishes that cannot all be met, by implicit hitting sets.

Every plan that is found misses some wishes; a set of wishes that clashes contains at least one of the missed wishes of
every plan. The smallest set that hits all plans found so far is tried: if it can be met, the plan that does it is one
more to hit; if not, it is the answer, and no smaller one exists.
"""

from itertools import combinations
from time import perf_counter

from msgspec import Struct

from kb.model.evening import Evening, Pin, Places, Wanted
from kb.plan.model import Firm
from kb.plan.solve import Found, solve

Wish = Pin | Wanted | int
"""A pin, an event for a team, or the number of a team that shall never be idle."""
TRY = 4.0
"""Seconds for one question of whether wishes can be met."""


class Smallest(Struct, frozen=True):
    """What the search for a clash found."""

    wishes: tuple[Wish, ...]
    """Empty when all wishes can be met, or when the time was too short to say."""
    certain: bool


def wishes_of(evening: Evening) -> list[Wish]:
    """Return everything a coach may wish firmly: pins, each event for each team, no team idle."""
    events: list[Wish] = [wish for wish in evening.wanted() if not wish.light]
    return [*evening.pins, *events, *range(len(evening.teams))]


def firm_of(wishes: "list[Wish] | tuple[Wish, ...]", *, bare: bool) -> Firm:
    """Return the wishes as what the program must meet."""
    return Firm(
        (wish for wish in wishes if isinstance(wish, Pin)),
        (wish for wish in wishes if isinstance(wish, Wanted)),
        (wish for wish in wishes if isinstance(wish, int)),
        bare=bare,
    )


def met(wish: Wish, places: Places) -> bool:
    """Say whether a plan meets a wish."""
    if isinstance(wish, Pin):
        row = places[wish.team]
        return wish.station in row if wish.slot is None else row[wish.slot] == wish.station
    if isinstance(wish, Wanted):
        return bool(set(wish.stations) & set(places[wish.team]))
    return None not in places[wish]


def can_meet(evening: Evening, wishes: "list[Wish] | tuple[Wish, ...]", seconds: float = TRY) -> Found:
    """Return a plan that meets the wishes and as many others as it can; without places when there is none."""
    return solve(evening, firm_of(wishes, bare=True), seconds=seconds)


def smallest_clash(evening: Evening, seconds: float) -> Smallest:
    """Return the smallest set of wishes that clashes, looked for some seconds."""
    end = perf_counter() + seconds
    every = wishes_of(evening)
    to_hit: list[frozenset[int]] = []
    while perf_counter() < end:
        chosen = _hitting_set(to_hit, len(every))
        wishes = [every[number] for number in sorted(chosen)]
        found = can_meet(evening, wishes, min(TRY, max(0.5, end - perf_counter())))
        if found.places is None:
            return Smallest(tuple(wishes), found.proven) if found.proven else Smallest((), False)
        missed = frozenset(number for number, wish in enumerate(every) if not met(wish, found.places))
        if not missed:
            return Smallest((), True)
        to_hit.append(missed)
    return Smallest((), False)


def _hitting_set(sets: list[frozenset[int]], count: int) -> frozenset[int]:
    """Return a smallest set with a member in each of the sets."""
    members = sorted(set().union(*sets)) if sets else []
    for size in range(count + 1):
        for chosen in combinations(members, size):
            if all(not one.isdisjoint(chosen) for one in sets):
                return frozenset(chosen)
    return frozenset(range(count))

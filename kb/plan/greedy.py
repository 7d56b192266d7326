"""The plan that a person would write: slot by slot, team by team, the best station that is still free."""

from kb.model.evening import Evening, Places
from kb.plan.price import price
from kb.plan.rules import broken_rules


def greedy(evening: Evening) -> Places | None:
    """Return a plan made step by step, pins first; None when a pin finds no place so.

    In each slot the teams choose in turn, another one first each time; each takes the station that costs least as the
    plan then stands.
    """
    rows: list[list[int | None]] = [[None] * evening.slots for _ in evening.teams]
    fits: list[list[int]] = [[] for _ in evening.teams]
    for fit in evening.fits:
        fits[fit.team].append(fit.station)
    for pin in evening.pins:
        slots = range(evening.slots) if pin.slot is None else (pin.slot,)
        free = (slot for slot in slots if rows[pin.team][slot] is None)
        if not any(_take(evening, rows, pin.team, pin.station, slot) for slot in free):
            return None
    teams = range(len(evening.teams))
    for slot in range(evening.slots):
        for turn in teams:
            team = (turn + slot) % len(evening.teams)
            if rows[team][slot] is None:
                _best(evening, rows, team, slot, fits[team])
    return tuple(map(tuple, rows))


def _take(evening: Evening, rows: list[list[int | None]], team: int, station: int, slot: int) -> bool:
    """Put a team at a station if no rule forbids it, and say whether it stays there."""
    if station in rows[team]:
        return False
    rows[team][slot] = station
    if next(broken_rules(evening, tuple(map(tuple, rows)), slot), None) is None:
        return True
    rows[team][slot] = None
    return False


def _best(evening: Evening, rows: list[list[int | None]], team: int, slot: int, stations: list[int]) -> None:
    best: tuple[int, int] | None = None
    for station in stations:
        if _take(evening, rows, team, station, slot):
            cost = sum(price(evening, tuple(map(tuple, rows))).values())
            best = min(best, (cost, station)) if best else (cost, station)
            rows[team][slot] = None
    if best is not None:
        rows[team][slot] = best[1]

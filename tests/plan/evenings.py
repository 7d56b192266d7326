"""Evenings made by chance, for tests and measurements, and the exhaustive search that knows the right answer."""

import random
from collections.abc import Iterator
from itertools import product

from kb.model.evening import Coach, Evening, Fit, Need, Pin, Places, Station, Team
from kb.plan.price import price
from kb.plan.rules import broken_rules

EVENTS = ("vault", "bars", "beam", "floor")


def evening(teams: int, stations: int, slots: int, seed: int, *, share: float = 0.9, squads: int = 0) -> Evening:
    """Return an evening of some size: scarce kit, few coaches, heavy loads, not every station for every team.

    With `squads` the teams belong to so many squads, whose teams stay together.
    """
    chance = random.Random(seed)
    groups = tuple(
        Team(f"G{n + 1}", f"S{n % squads + 1}" if squads else f"G{n + 1}", 3, (1, 2, 3)) for n in range(teams)
    )
    places = tuple(_station(chance, number) for number in range(stations))
    fits = tuple(
        Fit(team, station, chance.randint(0, 5), (chance.choice("ab"),))
        for team in range(teams)
        for station in range(stations)
        if chance.random() < share
    )
    able = [None, None, *[("beam", "floor")] * (max(2, teams * 2 // 3) - 2)]
    coaches = tuple(Coach(f"Coach {number}", spots) for number, spots in enumerate(able, start=1))
    stock = {"mini-tramp": 1, "springboard": 1, "mat": teams, "soft-mat": teams // 2}
    return Evening(
        groups, places, fits, slots, coaches, stock, dict.fromkeys(EVENTS, 3), together=bool(squads and teams > squads)
    )


def _station(chance: random.Random, number: int) -> Station:
    needs = [Need(1, ("mini-tramp", "springboard"))] if chance.random() < 0.3 else []
    needs += [Need(chance.randint(1, 2), ("mat", "soft-mat"))] if chance.random() < 0.5 else []
    spotters = chance.choice((0, 0, 0, 1))
    return Station(
        f"card-{number}",
        EVENTS[number % len(EVENTS)],
        4,
        tuple(needs),
        spotters,
        watched=not spotters and chance.random() < 0.5,
        wrist_heavy=chance.random() < 0.25,
        landing_heavy=chance.random() < 0.15,
        kind=chance.choice(("", "", "one-kind")),
    )


def all_plans(one: Evening) -> Iterator[Places]:
    """Yield every plan that breaks no rule, by trying all of them."""
    choices: list[list[int | None]] = [
        [None, *(fit.station for fit in one.fits if fit.team == team)] for team in range(len(one.teams))
    ]
    rows = [list(product(stations, repeat=one.slots)) for stations in choices]
    for places in product(*rows):
        if next(broken_rules(one, places), None) is None and all(_pinned(pin, places) for pin in one.pins):
            yield places


def _pinned(pin: Pin, places: Places) -> bool:
    row = places[pin.team]
    return pin.station in row if pin.slot is None else row[pin.slot] == pin.station


def cost(one: Evening, places: Places) -> int:
    """Return what a plan costs."""
    return sum(price(one, places).values())

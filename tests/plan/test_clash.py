"""What cannot be done: the smallest set of wishes that clash, found by trying every set as well."""

from itertools import combinations

import pytest
from msgspec.structs import replace

from kb.model.evening import Evening, Need, Pin
from kb.plan.clash import met, smallest_clash, wishes_of
from tests.plan.evenings import all_plans, evening
from tests.plan.test_solve import latin


def smallest_by_trying(one: Evening) -> int:
    """Return the size of the smallest set of wishes that no plan meets; 0 when all can be met."""
    wishes = wishes_of(one)
    free = replace(one, pins=())
    met_by = {frozenset(n for n, wish in enumerate(wishes) if met(wish, places)) for places in all_plans(free)}
    for size in range(len(wishes) + 1):
        for chosen in combinations(range(len(wishes)), size):
            if not any(set(chosen) <= group for group in met_by):
                return size
    return 0


@pytest.mark.parametrize("seed", range(10))
def test_the_smallest_clash(seed: int) -> None:
    """As small as the smallest of all sets, and truly a clash."""
    one = replace(evening(2, 3, 2, seed, share=0.8), pins=())
    fits = {(fit.team, fit.station) for fit in one.fits}
    one = replace(one, pins=tuple(Pin(team, station, 0) for team, station in sorted(fits)[:2]))
    found = smallest_clash(one, 20)
    assert found.certain
    assert len(found.wishes) == smallest_by_trying(one)
    free = replace(one, pins=())
    if found.wishes:
        assert not any(all(met(wish, places) for wish in found.wishes) for places in all_plans(free))


def test_two_teams_want_the_only_mini_trampoline() -> None:
    """Exactly these two wishes are named, and nothing beside them."""
    one = latin(3, 3)
    needs = (Need(1, ("mini-tramp",)),)
    stations = tuple(replace(s, needs=needs) if n < 2 else s for n, s in enumerate(one.stations))
    pins = (Pin(0, 0, 2), Pin(1, 1, 2), Pin(2, 2, 2))
    found = smallest_clash(replace(one, stations=stations, stock={"mini-tramp": 1}, pins=pins), 20)
    assert set(found.wishes) == {Pin(0, 0, 2), Pin(1, 1, 2)}


def test_wishes_that_can_all_be_met_do_not_clash() -> None:
    """Nothing is named."""
    assert smallest_clash(latin(3, 3), 20).wishes == ()

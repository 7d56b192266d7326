"""The solver against exhaustive search, the Latin square, and the planner that a person would write."""

import pytest
from msgspec.structs import replace

from kb.model.evening import Coach, Evening, Fit, Need, Pin, Station, Team
from kb.plan.greedy import greedy
from kb.plan.kit import needs_in_doubt
from kb.plan.rules import broken_rules
from kb.plan.solve import solve
from tests.plan.evenings import all_plans, cost, evening

TINY = [(2, 3, 3), (3, 3, 2), (2, 5, 2), (3, 2, 2), (2, 2, 4)]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("size", TINY)
def test_no_plan_of_all_plans_is_better(size: tuple[int, int, int], seed: int) -> None:
    """Every plan is tried; the solver's is allowed, costs as little as the best of them, and is called proven."""
    one = evening(*size, seed)
    found = solve(one)
    best = min(cost(one, places) for places in all_plans(one))
    assert found.proven
    assert found.places is not None
    assert list(broken_rules(one, found.places)) == []
    assert found.objective == cost(one, found.places) == best == found.bound


@pytest.mark.parametrize("seed", range(8))
def test_squads_together_and_body_shapes(seed: int) -> None:
    """The same where two teams of a squad stay together and one event is the body shapes."""
    one = evening(3, 4, 2, seed, share=1, squads=2)
    stations = tuple(replace(s, event="shapes") if s.event == "vault" else s for s in one.stations)
    one = replace(one, stations=stations, lanes={"shapes": 2, "beam": 1}, coaches=one.coaches[:1])
    assert solve(one).objective == min(cost(one, places) for places in all_plans(one))


@pytest.mark.parametrize("seed", range(8))
def test_few_coaches_and_squads_apart(seed: int) -> None:
    """The same with two coaches, one of them for bars alone, one free station, and squads that should not part."""
    one = evening(3, 4, 2, seed, share=1, squads=2)
    stations = tuple(replace(s, spotters=1, watched=False) if n != seed % 4 else s for n, s in enumerate(one.stations))
    stations = tuple(replace(s, event=("bars", "beam")[n % 2]) for n, s in enumerate(stations))
    coaches = (Coach("Coach 1", ("bars",)), Coach("Coach 2"))
    weights = replace(one.weights, apart=50)
    one = replace(one, stations=stations, coaches=coaches, together=False, weights=weights)
    assert solve(one).objective == min(cost(one, places) for places in all_plans(one))


@pytest.mark.parametrize("seed", range(6))
def test_pins_are_kept(seed: int) -> None:
    """The best of all plans with the pins, or none when no plan has them."""
    one = evening(2, 3, 3, seed, share=1)
    one = replace(one, pins=(Pin(0, 1, 0), Pin(1, 1)), mix=True)
    costs = [cost(one, places) for places in all_plans(one)]
    found = solve(one)
    assert (found.objective if found.places else None) == min(costs, default=None)
    assert found.proven


def latin(count: int, slots: int) -> Evening:
    """Return so many teams and stations, each an event of its own that every team should get to."""
    teams = tuple(Team(f"G{n}", f"G{n}", 3, (1,)) for n in range(count))
    stations = tuple(Station(f"card-{n}", f"event-{n}", 1) for n in range(count))
    fits = tuple(Fit(team, station, 0, ("theme",)) for team in range(count) for station in range(count))
    return Evening(teams, stations, fits, slots, (Coach("Coach 1"),), {}, {})


@pytest.mark.parametrize("count", [3, 4, 5])
def test_n_groups_and_n_stations_need_n_slots(count: int) -> None:
    """In n slots all get to all (a Latin square); with one slot less each of the n teams misses one."""
    whole, short = solve(latin(count, count)), solve(latin(count, count - 1))
    assert whole.places is not None
    assert all(sorted(map(str, row)) == [str(n) for n in range(count)] for row in whole.places)
    assert all(len(set(column)) == count for column in zip(*whole.places, strict=True))
    assert short.places is not None
    missed = sum(count - len(set(row) - {None}) for row in short.places)
    assert (whole.proven, short.proven, missed) == (True, True, count)


@pytest.mark.parametrize("seed", range(12))
def test_never_worse_than_the_planner_of_a_person(seed: int) -> None:
    """On generated evenings of six groups; the slot-by-slot plan keeps the rules too."""
    one = evening(6, 6, 6, 100 + seed, squads=3 if seed % 2 else 0)
    by_hand, found = greedy(one), solve(one, seconds=5)
    assert by_hand is not None
    assert found.places is not None
    assert list(broken_rules(one, by_hand)) == list(broken_rules(one, found.places)) == []
    assert found.bound <= found.objective <= cost(one, by_hand)


def test_the_same_seed_gives_the_same_plan() -> None:
    """A plan that is proven in time does not change from run to run."""
    one = evening(4, 5, 4, 3)
    assert solve(one, seed=7).places == solve(one, seed=7).places


def test_an_alternative_is_another_plan() -> None:
    """It differs in as many visits as asked for and is no better than the first."""
    one = evening(4, 6, 4, 1)
    first = solve(one)
    assert first.places is not None
    second = solve(one, unlike=(first.places,), differ=5)
    assert second.places is not None
    visits = [
        {(team, s) for team, row in enumerate(p) for s in row if s is not None} for p in (first.places, second.places)
    ]
    assert len(visits[0] - visits[1]) >= 5
    assert second.objective >= first.objective


def test_stand_ins_are_taken_where_the_first_choice_runs_short() -> None:
    """Two stations want the only mini-trampoline; one takes the springboard, and a third has to wait."""
    needs = (Need(1, ("mini-tramp", "springboard")),)
    one = latin(3, 1)
    one = replace(one, stations=tuple(replace(s, needs=needs) for s in one.stations))
    found = solve(replace(one, stock={"mini-tramp": 1, "springboard": 1}))
    assert found.places is not None
    assert sum(row[0] is not None for row in found.places) == 2
    doubt, fixed = needs_in_doubt(replace(one, stock={"mini-tramp": 3, "springboard": 0}))
    assert (doubt, fixed) == ([], [])

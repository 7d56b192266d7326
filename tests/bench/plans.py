"""Planning: how long a proof takes, how near the rest is, our planner beside one of a person, HiGHS beside CP-SAT."""

import importlib.util
import statistics
import time

from kb.model.evening import Evening
from kb.plan.greedy import greedy
from kb.plan.model import Model
from kb.plan.solve import Found, solve
from tests.plan.evenings import cost, evening

SIZES = {(6, 6, 6): 10.0, (8, 8, 8): 10.0, (12, 12, 10): 30.0}
"""Groups, stations and slots to the seconds that a search may take."""
EACH = 5
"""Evenings of each size."""
AGAINST_A_PERSON = 30


def plans() -> dict[str, float]:
    """Measure proofs, gaps, the person's planner and, where it is installed, CP-SAT."""
    found: dict[str, float] = {}
    for size, seconds in SIZES.items():
        name = " x ".join(map(str, size))
        for mix in (False, True):
            evenings = [_mixed(evening(*size, seed), mix=mix) for seed in range(EACH)]
            found |= _measured(f"{name}{', walking free' if mix else ''}", evenings, seconds)
    return found | _against_a_person() | _against_cp_sat()


def _mixed(one: Evening, *, mix: bool) -> Evening:
    from msgspec.structs import replace

    return replace(one, mix=mix)


def _measured(name: str, evenings: list[Evening], seconds: float) -> dict[str, float]:
    solved: list[Found] = [solve(one, seconds=seconds) for one in evenings]
    proven = [one.seconds for one in solved if one.proven]
    found = {f"{name}: proven in {seconds:g} s, of {len(solved)}": float(len(proven))}
    if proven:
        found[f"{name}: s to the proof, median of the proven"] = statistics.median(proven)
        found[f"{name}: s to the proof, longest of the proven"] = max(proven)
    found[f"{name}: widest gap"] = max(one.gap for one in solved)
    return found


def _against_a_person() -> dict[str, float]:
    """Print the objective of the slot-by-slot planner and of ours for each generated evening."""
    worse = 0
    pairs = []
    for seed in range(AGAINST_A_PERSON):
        one = evening(6, 6, 6, 1000 + seed, squads=3 if seed % 2 else 0)
        by_hand, ours = greedy(one), solve(one, seconds=10)
        if by_hand is None:
            continue
        pairs.append((cost(one, by_hand), ours.objective))
        worse += ours.objective > pairs[-1][0]
        print(
            f"  evening {seed + 1:>2}: slot by slot {pairs[-1][0]:>5}, ours {ours.objective:>5}, bound {ours.bound:>5}"
        )
    return {
        "evenings, ours against slot by slot": float(len(pairs)),
        "evenings on which ours is worse (0)": float(worse),
        "evenings on which ours is better": float(sum(ours < hand for hand, ours in pairs)),
        "mean objective, slot by slot": statistics.mean(hand for hand, _ in pairs),
        "mean objective, ours": statistics.mean(ours for _, ours in pairs),
    }


def _against_cp_sat() -> dict[str, float]:
    """Solve the same programs with CP-SAT, when `ortools` is there; it is no dependency."""
    if importlib.util.find_spec("ortools") is None:
        return {}
    found: dict[str, float] = {}
    for size, seconds in SIZES.items():
        name = " x ".join(map(str, size))
        evenings = [evening(*size, seed) for seed in range(EACH)]
        ends = [_cp_sat(one, seconds) for one in evenings]
        found[f"CP-SAT, {name}: proven in {seconds:g} s, of {EACH}"] = float(sum(end[0] - end[1] < 1 for end in ends))
        found[f"CP-SAT, {name}: s, median"] = statistics.median(end[2] for end in ends)
        found[f"CP-SAT, {name}: widest gap"] = max((end[0] - end[1]) / end[0] for end in ends)
    return found


def _cp_sat(one: Evening, seconds: float) -> tuple[float, float, float]:
    """Return objective, bound and time of CP-SAT with eight workers on the same rows."""
    from importlib import import_module

    cp_model = import_module("ortools.sat.python.cp_model")
    rows = Model(one).rows
    model = cp_model.CpModel()
    columns = [model.NewIntVar(0, int(upper), "") for upper in rows.uppers]
    for terms, low, high in rows.listed():
        total = sum(int(value) * columns[column] for column, value in terms)
        if low > -1e9:
            model.Add(total >= int(low))
        if high < 1e9:
            model.Add(total <= int(high))
    model.Minimize(sum(int(price) * column for price, column in zip(rows.costs, columns, strict=True) if price))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 8, seconds
    start = time.perf_counter()
    solver.Solve(model)
    return solver.ObjectiveValue(), solver.BestObjectiveBound(), time.perf_counter() - start

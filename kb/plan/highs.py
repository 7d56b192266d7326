"""The one place where HiGHS is called."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from kb.model.evening import Places
from kb.plan.model import Model


class Outcome(NamedTuple):
    """What one run of the solver says."""

    places: Places | None
    cost: float
    bound: float
    impossible: bool


def run(
    model: Model,
    seconds: float,
    seed: int,
    first: Places | None,
    free: Callable[[int, int], bool] | None = None,
) -> Outcome:
    """Run HiGHS on a program for some seconds.

    Args:
        model: the program.
        seconds: time.
        seed: random seed.
        first: a plan to begin with.
        free: team and slot that may differ from `first`; all without it.
    """
    import highspy
    import numpy as np

    highs = _solver()
    for option, value in {
        "output_flag": False,
        "time_limit": max(0.05, float(seconds)),
        "random_seed": seed,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.99,  # every objective is a whole number
    }.items():
        highs.setOptionValue(option, value)
    highs.passModel(model.rows.program())
    if first is not None:
        index = np.array(list(model.x.values()), dtype=np.int32)
        values = np.array([first[team][slot] == station for team, station, slot in model.x], dtype=float)
        if free is not None:
            open_to = np.array([free(team, slot) for team, _, slot in model.x])
            low, high = np.where(open_to, 0.0, values), np.where(open_to, 1.0, values)
            highs.changeColsBounds(len(index), index, low, high)
        highs.setSolution(len(index), index, values)
    highs.run()
    info = highs.getInfo()
    impossible = highs.getModelStatus() == highspy.HighsModelStatus.kInfeasible
    if impossible or info.primal_solution_status != int(highspy.SolutionStatus.kSolutionStatusFeasible):
        return Outcome(None, float("inf"), float(info.mip_dual_bound), impossible)
    places = model.places(list(highs.getSolution().col_value))
    return Outcome(places, round(float(info.objective_function_value)), float(info.mip_dual_bound), False)


def _solver() -> Any:
    """Return a solver; its first one prints a banner to file 1, which would spoil JSON."""
    import highspy

    with _no_banner():
        make: Any = highspy.Highs
        return make()


@contextmanager
def _no_banner() -> Iterator[None]:
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)

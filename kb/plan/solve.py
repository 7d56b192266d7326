"""HiGHS finds who is where, and how far from the best that can be.

A short exact search first, which is enough for most evenings. When it is not, better plans are looked for near the best
one (all teams but three, or all slots but three, held fast and the rest solved exactly), and the exact search
goes on from there for the time that is left.
"""

import math
import random
from collections.abc import Callable
from time import perf_counter

from msgspec import Struct

from kb.model.evening import Evening, Places
from kb.plan.greedy import greedy
from kb.plan.highs import run
from kb.plan.model import Firm, Model
from kb.plan.price import price

SECONDS = 20.0
"""Longest search for one plan when nothing else is said."""
FIRST, NEAR = 0.3, 0.5
"""Parts of the time for the first exact search and for the search near the best plan."""
FREE_TEAMS, FREE_SLOTS = 3, 3
"""What is left free in a search near the best plan."""
WITHOUT_GAIN = 8
"""Searches near the best plan, for each team, without a better one after which it ends."""


class Found(Struct, frozen=True):
    """A solved evening."""

    places: Places | None
    """None when the firm wishes clash, or when the time was too short to find a plan."""
    objective: int
    bound: int
    proven: bool
    """Nothing better exists; or, without places, nothing exists."""
    seconds: float

    @property
    def gap(self) -> float:
        """How much of the objective is not proven, 0 to 1."""
        return max(0.0, (self.objective - self.bound) / self.objective) if self.objective else 0.0


def solve(  # noqa: PLR0913 - what one search is told, each by name
    evening: Evening,
    firm: Firm | None = None,
    *,
    seconds: float = SECONDS,
    seed: int = 0,
    unlike: tuple[Places, ...] = (),
    differ: int = 1,
    begin: Places | None = None,
) -> Found:
    """Return the best plan of an evening inside the time, with its bound.

    Args:
        evening: what is to be decided.
        firm: wishes that must be met; the evening's pins when None.
        seconds: time of the search.
        seed: chooses between plans of equal worth, and the way of the search.
        unlike: plans from which the new one must differ in at least `differ` visits.
        differ: how many.
        begin: a plan that meets everything, to begin with.
    """
    start = perf_counter()

    def left() -> float:
        return max(0.1, seconds - (perf_counter() - start))

    model = Model(evening, firm)
    for places in unlike:
        model.exclude(places, differ)
    first = begin if begin is not None or firm is not None or unlike else greedy(evening)
    search = _Search(model, seed, first)
    search.exact(seconds * FIRST if seconds > 2 else seconds)
    if not search.done and seconds > 2:
        if search.places is not None:
            search.near(min(left(), seconds * NEAR))
        search.exact(left())
    taken = perf_counter() - start
    if search.places is None:
        return Found(None, 0, 0, search.done, taken)
    objective = sum(price(evening, search.places).values())
    bound = min(objective, max(0, math.ceil(search.bound - 1e-6)))
    return Found(search.places, objective, bound, bound == objective, taken)


class _Search:
    """The best plan so far and what is known about it."""

    def __init__(self, model: Model, seed: int, places: Places | None) -> None:
        self.model, self.seed, self.places = model, seed, places
        self.cost = math.inf if places is None else float(sum(price(model.evening, places).values()))
        self.bound, self.done = -math.inf, False

    def exact(self, seconds: float) -> None:
        """Search all plans for some seconds."""
        outcome = run(self.model, seconds, self.seed, self.places)
        if outcome.places is not None and outcome.cost < self.cost:
            self.places, self.cost = outcome.places, outcome.cost
        self.bound = max(self.bound, outcome.bound)
        self.done = outcome.impossible or (self.places is not None and self.bound > self.cost - 1 + 1e-6)

    def near(self, seconds: float) -> None:
        """Search near the best plan for some seconds: a few teams or a few slots in a row are free."""
        evening, end = self.model.evening, perf_counter() + seconds
        chance = random.Random(self.seed)  # noqa: S311 - the same search for the same seed, nothing secret
        without = 0
        while perf_counter() < end and without < WITHOUT_GAIN * len(evening.teams):
            outcome = run(self.model, end - perf_counter(), self.seed, self.places, free=_free(evening, chance))
            if outcome.places is not None and outcome.cost < self.cost - 0.5:
                self.places, self.cost, without = outcome.places, outcome.cost, 0
            else:
                without += 1


def _free(evening: Evening, chance: random.Random) -> Callable[[int, int], bool]:
    """Return which team and slot may change."""
    if chance.random() < 0.6 or evening.slots <= FREE_SLOTS:
        teams = set(chance.sample(range(len(evening.teams)), min(FREE_TEAMS, len(evening.teams))))
        return lambda team, _: team in teams
    first = chance.randrange(evening.slots - FREE_SLOTS + 1)
    return lambda _, slot: first <= slot < first + FREE_SLOTS

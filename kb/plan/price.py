"""What a plan costs, wish by wish, counted without the solver."""

from collections import Counter
from itertools import combinations, pairwise

from kb.model.evening import Evening, Places

PARTS = (
    "event_missed",
    "idle",
    "theme_missed",
    "unfair",
    "twin",
    "late_shapes",
    "rebuild",
    "walk",
    "apart",
    "choice",
)
"""The wishes, heaviest first; 'choice' is how much better other stations would be for the teams."""


def price(evening: Evening, places: Places) -> dict[str, int]:
    """Return the cost of a plan by wish; their sum is the objective."""
    weights, counts = evening.weights, _counts(evening, places)
    found = {part: counts[part] * getattr(weights, part) for part in PARTS if part != "choice"}
    if evening.mix:
        found["walk"] = 0
    costs = {(fit.team, fit.station): fit.cost for fit in evening.fits}
    found["choice"] = sum(costs[team, s] for team, row in enumerate(places) for s in row if s is not None)
    return found


def _counts(evening: Evening, places: Places) -> "Counter[str]":
    counts: Counter[str] = Counter()
    event_of = [station.event for station in evening.stations]
    events = [[None if s is None else event_of[s] for s in row] for row in places]
    counts["idle"] = sum(event is None for row in events for event in row)
    for wish in evening.wanted():
        if not set(wish.stations) & set(places[wish.team]):
            counts["theme_missed" if wish.light else "event_missed"] += 1
    for team, (low, high) in enumerate(shares(evening)):
        for wish in evening.wanted():
            if wish.team == team and not wish.light:
                times = events[team].count(wish.event)
                counts["unfair"] += max(0, low - times) + max(0, times - high)
    for unit in evening.units:
        way = [next((events[team][slot] for team in unit if events[team][slot]), None) for slot in range(evening.slots)]
        for before, now in pairwise(way):
            counts["walk"] += len(unit) * (now is not None and now != before)
            counts["late_shapes"] += len(unit) * (now == "shapes" != before)
    for row in places:
        kinds = Counter(kind for s in row if s is not None and (kind := evening.stations[s].kind))
        counts["twin"] += sum(times - 1 for times in kinds.values())
    open_before: set[int] = set()
    for slot in range(evening.slots):
        now_open = {s for row in places if (s := row[slot]) is not None}
        counts["rebuild"] += len(now_open - open_before)
        open_before = now_open
    for one, other in combinations(range(len(evening.teams)), 2):
        if not evening.together and evening.teams[one].squad == evening.teams[other].squad:
            counts["apart"] += sum(a != b for a, b in zip(events[one], events[other], strict=True))
    return counts


def shares(evening: Evening) -> list[tuple[int, int]]:
    """Return for each team the fewest and the most slots that are fair on one event.

    One slot is left out of the count for the lower figure when there are body shapes to do.
    """
    found = []
    for team in range(len(evening.teams)):
        events = {evening.stations[fit.station].event for fit in evening.fits if fit.team == team}
        others = len(events - {"shapes"}) or 1
        found.append(((evening.slots - ("shapes" in events)) // others, -(-evening.slots // others)))
    return found

"""Which coach is where: hands first, then eyes, and as few changes as can be."""

from collections.abc import Sequence
from typing import NamedTuple

from kb.model.evening import Coach, Station
from kb.plan.model import WATCHED_BY_ONE


class Post(NamedTuple):
    """A place for one coach: to spot at one station, or to watch one or two of an event."""

    stations: tuple[int, ...]
    event: str
    spots: bool


def posts(stations: Sequence[Station], open_now: Sequence[int]) -> list[Post]:
    """Return the places that must be taken while these stations are open."""
    found = [
        Post((number,), stations[number].event, True) for number in open_now for _ in range(stations[number].spotters)
    ]
    watched: dict[str, list[int]] = {}
    for number in open_now:
        if stations[number].watched:
            watched.setdefault(stations[number].event, []).append(number)
    for event, numbers in watched.items():
        for place in range(0, len(numbers), WATCHED_BY_ONE):
            found.append(Post(tuple(numbers[place : place + WATCHED_BY_ONE]), event, False))
    return found


def assign(wanted: Sequence[Post], coaches: Sequence[Coach], before: dict[str, str]) -> list[int] | None:
    """Return the coach of each post, keeping coaches on the event where they were (`before`: name to event).

    None when there are not enough. Every coach that may do it is tried, those who need not walk first.
    """
    best: tuple[int, list[int]] | None = None

    def place(number: int, taken: list[int], cost: int) -> None:
        nonlocal best
        if best is not None and cost >= best[0]:
            return
        if number == len(wanted):
            best = (cost, list(taken))
            return
        post = wanted[number]
        choices = [
            (before.get(coach.name, post.event) != post.event, k)
            for k, coach in enumerate(coaches)
            if k not in taken and (not post.spots or coach.may_spot(post.event))
        ]
        for walks, coach_number in sorted(choices):
            place(number + 1, [*taken, coach_number], cost + walks)

    place(0, [], 0)
    return best[1] if best else None

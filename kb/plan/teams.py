"""Squads to teams that fit a station, children of like height together."""

from collections.abc import Iterable, Mapping

from kb.library.groupsfile import SquadLine
from kb.model.evening import Team

LARGEST = 4
"""Children in a team: most drill stations have room for three or four, at work and waiting."""


def teams_of(squads: Iterable[SquadLine], rooms: Mapping[str, int]) -> tuple[Team, ...]:
    """Return the teams of all squads: as few as possible, as even as possible, none larger than `LARGEST`.

    `rooms` gives a squad's smaller limit, where a station that was asked for has room for fewer.
    """
    return tuple(team for squad in squads for team in _divided(squad, min(LARGEST, rooms.get(squad.name, LARGEST))))


def _divided(squad: SquadLine, largest: int) -> list[Team]:
    numbers = list(range(1, squad.count + 1))
    if squad.heights:
        numbers.sort(key=lambda number: (squad.heights[number - 1], number))
    many = -(-squad.count // largest)
    found = []
    for part in range(many):
        children = numbers[part * squad.count // many : (part + 1) * squad.count // many]
        found.append(
            Team(
                name=f"{squad.name} {chr(ord('A') + part)}" if many > 1 else squad.name,
                squad=squad.name,
                level=squad.level,
                children=tuple(children),
                heights=tuple(squad.heights[n - 1] for n in children) if squad.heights else (),
                limits=squad.limits,
                afraid=squad.afraid,
                notes=tuple(note for note in squad.children if note.number in children),
            )
        )
    return found

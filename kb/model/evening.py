"""An evening as the planner sees it: teams, stations, kit, coaches and wishes, all in plain numbers and names."""

from typing import Literal

from msgspec import Struct

from kb.model.types import Id, Line

Limit = Literal["no-wrist-load"]
"""What a child must not do this week."""
Fear = Literal["backwards", "height", "speed", "upside-down"]
"""What a child is afraid of."""


class Coach(Struct, frozen=True, forbid_unknown_fields=True):
    """One coach of the evening, without a name of a person: Coach 1."""

    name: Line
    spots: tuple[Id, ...] | None = None
    """Events where she may stand by or hold; None for all of them. Everybody may watch everywhere."""

    def may_spot(self, event: str) -> bool:
        """Say whether she may stand by or hold on this event."""
        return self.spots is None or event in self.spots


class ChildNote(Struct, frozen=True, forbid_unknown_fields=True):
    """What has to be known of one child."""

    number: int
    limits: tuple[Limit, ...] = ()
    afraid: tuple[Fear, ...] = ()


class Team(Struct, frozen=True, forbid_unknown_fields=True):
    """Children who go from station to station together: a squad, or a part of one that fits a station."""

    name: Line
    """Copper A; the squad's own name when it was not divided."""
    squad: Line
    level: int
    children: tuple[int, ...]
    """Their numbers in the squad."""
    heights: tuple[float, ...] = ()
    """cm, in the order of `children`."""
    limits: tuple[Limit, ...] = ()
    """What holds for every child of the team."""
    afraid: tuple[Fear, ...] = ()
    notes: tuple[ChildNote, ...] = ()

    def without(self, limit: Limit) -> tuple[int, ...]:
        """Return the children for whom a limit holds."""
        if limit in self.limits:
            return self.children
        return tuple(note.number for note in self.notes if limit in note.limits)


class Need(Struct, frozen=True):
    """Pieces of one kind that a station needs at the same moment."""

    count: int
    options: tuple[str, ...]
    """The piece itself first, then what may stand in for it, best first."""


class Station(Struct, frozen=True):
    """A card that may stand in the hall tonight. One team at a time works at it."""

    card: str
    event: str
    room: int
    """Most children: at work and waiting."""
    needs: tuple[Need, ...] = ()
    spotters: int = 0
    """Coaches who stand by or hold, and can do nothing else meanwhile."""
    watched: bool = False
    """A coach has it in sight; two such stations of one event can be seen by one coach."""
    wrist_heavy: bool = False
    landing_heavy: bool = False
    kind: str = ""
    """Stations of one kind are near-twins: same fault, cause and stage."""


class Fit(Struct, frozen=True):
    """A station that is right for a team, and how much better another would be."""

    team: int
    station: int
    cost: int = 0
    """0 for the best; from the place in the answer, the rung and what a child is afraid of."""
    themes: tuple[str, ...] = ()


class Pin(Struct, frozen=True):
    """The coach's wish that a team gets a station, in one slot or in any."""

    team: int
    station: int
    slot: int | None = None
    """From 0."""


class Weights(Struct, frozen=True):
    """What each missed wish costs; safety and kit are no wishes. Whole numbers (our judgement, no source)."""

    event_missed: int = 100
    """A team gets no drill for the theme on an open event."""
    idle: int = 60
    """A team has no station in a slot."""
    theme_missed: int = 20
    """One of several themes is not met on an event where it could be, or the body shapes are left out."""
    unfair: int = 10
    """A slot too many or too few on one event."""
    twin: int = 4
    """Two near-twins for one team."""
    late_shapes: int = 10
    """A team comes to the body shapes after something else."""
    rebuild: int = 3
    """A station is set up."""
    walk: int = 2
    """A team goes to another event."""
    apart: int = 1
    """Two teams of a squad are on different events."""


class Evening(Struct, frozen=True):
    """Everything that has to be decided together. Events are names; 'shapes' comes before the others."""

    teams: tuple[Team, ...]
    stations: tuple[Station, ...]
    fits: tuple[Fit, ...]
    slots: int
    coaches: tuple[Coach, ...]
    stock: dict[str, int]
    """Pieces there are; what is not listed is there without limit (walls)."""
    lanes: dict[str, int]
    """Stations that find room on an event at the same moment; without limit for an event that is not listed."""
    pins: tuple[Pin, ...] = ()
    weights: Weights = Weights()
    mix: bool = False
    """The coach asked to mix known drills: changing events costs nothing."""
    together: bool = False
    """The teams of a squad are on the same event in a slot."""

    @property
    def units(self) -> tuple[tuple[int, ...], ...]:
        """Teams that walk together: those of a squad, or each by itself."""
        found: dict[str, list[int]] = {}
        for number, team in enumerate(self.teams):
            found.setdefault(team.squad if self.together else team.name, []).append(number)
        return tuple(map(tuple, found.values()))

    @property
    def events(self) -> tuple[str, ...]:
        """Events with a station, in the order of the stations."""
        return tuple(dict.fromkeys(station.event for station in self.stations))

    def wanted(self) -> "tuple[Wanted, ...]":
        """Return what every team should get: each event, and on it each theme, as far as stations serve it."""
        found: dict[tuple[int, str, str], list[int]] = {}
        for fit in self.fits:
            event = self.stations[fit.station].event
            for theme in ("", *fit.themes) if fit.themes else ():
                found.setdefault((fit.team, event, theme), []).append(fit.station)
        themes = {theme for fit in self.fits for theme in fit.themes}
        return tuple(
            Wanted(team, event, theme, tuple(stations))
            for (team, event, theme), stations in sorted(found.items())
            if not theme or (event != "shapes" and len(themes) > 1)
        )


class Wanted(Struct, frozen=True):
    """A team should get one of these stations."""

    team: int
    event: str
    theme: str
    """Empty: any theme."""
    stations: tuple[int, ...]

    @property
    def light(self) -> bool:
        """Whether it is one of several themes on an event, or the body shapes, and not the event itself."""
        return bool(self.theme) or self.event == "shapes"


Places = tuple[tuple[int | None, ...], ...]
"""Team by slot: the station, or None when the team has none."""

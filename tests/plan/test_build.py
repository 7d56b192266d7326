"""From the request to the plan: teams, the clock, stations for a theme, wishes and weeks."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from kb.errors import FileUnusable, OutOfRange, UnknownName, UsageError
from kb.facade import Library
from kb.library.groupsfile import GroupsFile, SquadLine, read_groups
from kb.model import Plan
from kb.model.evening import Coach, Team
from kb.plan.build import Planner, coaches_of
from kb.plan.candidates import right_rung
from kb.plan.clock import clock_for
from kb.plan.hands import Post, assign
from kb.plan.request import PlanRequest
from kb.plan.stations import frightens
from kb.plan.teams import teams_of
from kb.plan.weeks import cards_of, sessions_of
from tests.plan.demo import GROUPS, LARKMOOR, THEMES


def request(library: Library, **fields: Any) -> PlanRequest:
    """Return a request for the demo evening."""
    usual: dict[str, Any] = {"themes": THEMES, "coaches": 3, "minutes": 90, "seconds": 3.0}
    return PlanRequest(groups=read_groups(GROUPS), kit=library.kit(LARKMOOR), **(usual | fields))


@pytest.mark.parametrize(
    ("count", "sizes"), [(1, [1]), (4, [4]), (5, [2, 3]), (6, [3, 3]), (7, [3, 4]), (8, [4, 4]), (9, [3, 3, 3])]
)
def test_squads_are_divided_evenly(count: int, sizes: list[int]) -> None:
    """At most four to a team, all children in one of them."""
    teams = teams_of([SquadLine("Tin", 3, count)], {})
    assert [len(team.children) for team in teams] == sizes
    assert sorted(child for team in teams for child in team.children) == list(range(1, count + 1))


def test_children_of_like_height_are_in_one_team() -> None:
    """Whatever their numbers are; a station with less room makes smaller teams."""
    squad = SquadLine("Tin", 3, 6, heights=(130, 110, 131, 111, 132, 112))
    tall = {team.children for team in teams_of([squad], {})}
    assert tall == {(2, 4, 6), (1, 3, 5)}
    assert len(teams_of([squad], {"Tin": 2})) == 3


@pytest.mark.parametrize(
    ("minutes", "visit", "wishes", "slots", "each"),
    [
        (90, 6, 9, 9, 8),
        (90, 8, 9, 7, 10),
        (120, 6, 9, 9, 11),
        (90, 6, 4, 4, 15),
        (30, 6, 9, 1, 12),
        (240, 6, 5, 14, 15),
    ],
)
def test_the_clock(starter: Library, minutes: int, visit: int, wishes: int, slots: int, each: int) -> None:
    """Warm-up 12 and tidy-up 6 first; then as many slots as there are wishes, none under a visit and the change."""
    clock = clock_for(request(starter, minutes=minutes), visit, wishes)
    assert (clock.slots, clock.minutes) == (slots, each)
    assert clock.warm_up + clock.slots * clock.minutes + clock.tidy_up == minutes


def test_too_little_time(starter: Library) -> None:
    """The least that works is named."""
    with pytest.raises(OutOfRange, match="at least 26"):
        clock_for(request(starter, minutes=25), 6, 9)


RUNGS = [(2, 1, 1), (3, 1, 2), (5, 1, 5), (6, 1, 6), (3, 3, 4), (6, 5, 7), (9, 1, 6)]


@pytest.mark.parametrize(("level", "week", "rung"), RUNGS)
def test_the_right_rung(level: int, week: int, rung: int) -> None:
    """By hand for a ladder of 7 rungs and levels 2 to 6: 1 + int((level - 2) / 5 x 7), a rung more each week."""
    assert right_rung(level, (2, 6), 7, week) == rung


def test_stations_are_right_for_the_team(starter: Library) -> None:
    """Level, room, event and kit of every station of every team; what is avoided or mastered does not come."""
    planner = Planner(request(starter), starter.searcher)
    stations, teams = planner.evening.stations, planner.teams
    for fit in planner.evening.fits:
        card = starter.card(stations[fit.station].card)
        assert card.fits_level(teams[fit.team].level)
        assert len(teams[fit.team].children) <= card.group.at_once + card.group.waiting
        assert card.group.minutes + 2 <= planner.clock.minutes
    gone = stations[planner.evening.fits[0].station].card
    mastered = {"Copper": tuple(s.card for s in stations if s.event == "beam")}
    other = Planner(request(starter, avoid=(gone,), mastered=mastered), starter.searcher)
    assert gone not in {station.card for station in other.evening.stations}
    copper = [fit.station for fit in other.evening.fits if teams[fit.team].squad == "Copper"]
    assert not {other.evening.stations[n].card for n in copper} & set(mastered["Copper"])


def test_a_squad_without_wrist_load(starter: Library) -> None:
    """No station of the squad loads the wrists, whatever the theme."""
    groups = GroupsFile((SquadLine("Tin", 4, 3, limits=("no-wrist-load",)),), lanes={"floor": 2, "shapes": 3})
    planner = Planner(replace(request(starter, themes=("tight body",)), groups=groups), starter.searcher)
    assert planner.evening.fits
    assert all(
        starter.card(planner.evening.stations[f.station].card).load.wrists == "none" for f in planner.evening.fits
    )


def test_a_child_without_wrist_load_has_her_own_drill(starter: Library, demo: Plan) -> None:
    """Amber 2 never loads her wrists; her drills are on the floor, need no kit of others and do not repeat."""
    team = next(team for team in demo.teams if 2 in team.children and team.squad == "Amber")
    turns = [turn for slot in demo.slots for turn in slot.rotation if turn.group == team.name]
    own = [own for turn in turns for own in turn.instead]
    loaded = [turn for turn in turns if starter.card(turn.card).load.wrists != "none"]
    assert loaded
    assert {one.child for one in own} == {2}
    assert [bool(turn.instead) for turn in turns] == [turn in loaded for turn in turns]
    drills = [one.card for one in own if one.card]
    assert len(set(drills)) == len(drills) > 0
    assert all(starter.card(name).load.wrists == "none" for name in drills)


def test_what_frightens_a_child_is_said(starter: Library) -> None:
    """A back walkover for a child afraid of going backwards; not a jump forwards."""
    team = Team("Slate A", "Slate", 4, (4,), afraid=("backwards",))
    assert frightens(starter.card("floor-back-walkover-on-line"), team) == ("Slate A: backwards",)
    assert frightens(starter.card("vault-torpedo-shove"), team) == ()


def test_pins(starter: Library) -> None:
    """A pinned card comes for the group it was asked for, in its slot."""
    name = "floor-wall-table-lifts"
    plan = starter.plan(
        ("short handstand",),
        groups=GROUPS,
        kit=LARKMOOR,
        coaches=3,
        minutes=60,
        seconds=3,
        pins=(f"{name}@Copper A@2",),
    )
    turns = {turn.group: turn.card for turn in plan.slots[1].rotation}
    assert turns["Copper A"] == name


def test_pins_that_clash(starter: Library) -> None:
    """Two teams want one station in one slot: both wishes are named, with ways out, and the plan keeps the first."""
    name = "floor-wall-table-lifts"
    pins = (f"{name}@Copper A@2", f"{name}@Copper B@2")
    plan = starter.plan(("short handstand",), groups=GROUPS, kit=LARKMOOR, coaches=3, minutes=60, seconds=3, pins=pins)
    (clash,) = plan.clashes
    assert plan.status == "infeasible"
    assert clash.wishes == (f"Copper A works at {name} in slot 2", f"Copper B works at {name} in slot 2")
    assert "a station has one team at a time" in clash.words
    assert any(way.words.startswith("let it be another slot") for way in clash.ways)
    assert all(way.slots for way in clash.ways)
    assert {turn.group: turn.card for turn in plan.slots[1].rotation}["Copper A"] == name


WRONG: list[tuple[dict[str, Any], type[Exception], str]] = [
    ({"themes": ("banana bread",)}, UsageError, "Nothing is found for the theme"),
    ({"themes": ("her wrist hurts in handstand",)}, UsageError, "No plan is made of this"),
    ({"avoid": ("vault-tal-fall",)}, UnknownName, "vault-tall-fall"),
    ({"pins": ("vault-tal-fall@Slate",)}, UnknownName, "vault-tall-fall"),
    ({"pins": ("floor-wall-table-lifts@Slat",)}, UnknownName, "Slate"),
    ({"pins": ("floor-wall-table-lifts@Slate A@99",)}, UsageError, "from 1 to"),
    ({"pins": ("floor-shin-lift-extension@Copper",)}, UsageError, "cannot be done"),
    ({"pins": ("beam-turn-out@Slate",), "open_events": {"floor": 2}}, UsageError, "is not open tonight"),
    ({"open_events": {"valt": 1}}, UnknownName, "vault"),
    ({"minutes": 20}, OutOfRange, "at least"),
]


@pytest.mark.parametrize(("fields", "kind", "says"), WRONG)
def test_what_no_plan_can_be_made_of(
    starter: Library, fields: dict[str, Any], kind: type[Exception], says: str
) -> None:
    """One sentence says why and what to do."""
    with pytest.raises(kind, match=says):
        Planner(request(starter, **fields), starter.searcher)


def test_coaches(starter: Library) -> None:
    """The first of the file, then further ones who may spot everywhere."""
    assert [coach.name for coach in coaches_of(request(starter, coaches=2))] == ["Coach 1", "Coach 2"]
    assert coaches_of(request(starter, coaches=4))[3] == Coach("Coach 4")


def test_hands_are_given_to_those_who_may_and_need_not_walk() -> None:
    """Coach 2 may hold on beam only; who was on an event stays there."""
    coaches = (Coach("Coach 1"), Coach("Coach 2", ("beam",)))
    posts = [Post((0,), "beam", True), Post((1,), "bars", True)]
    assert assign(posts, coaches, {}) == [1, 0]
    assert assign(posts, coaches[1:], {}) is None
    assert assign([Post((0,), "floor", False), Post((1,), "vault", False)], coaches, {"Coach 1": "vault"}) == [1, 0]


MONDAY = datetime(2027, 1, 11, 17)


def test_sessions_repeat_weekly(starter: Library) -> None:
    """In order of time, each with its week."""
    days = (MONDAY + timedelta(days=2), MONDAY)
    found = sessions_of(request(starter, sessions=days, weeks=2))
    assert found == [(1, MONDAY), (1, days[0]), (2, MONDAY + timedelta(weeks=1)), (2, days[0] + timedelta(weeks=1))]
    assert sessions_of(request(starter, weeks=2)) == [(1, None), (2, None)]
    with pytest.raises(UsageError, match="twice"):
        sessions_of(request(starter, sessions=(MONDAY, MONDAY)))


def test_no_drill_again_within_a_day(starter: Library) -> None:
    """Two sessions on one day share no drill of a squad; with a day between them they may."""
    morning = (MONDAY, MONDAY + timedelta(hours=5))
    plan = starter.plan(
        ("tight body",), groups=GROUPS, kit=LARKMOOR, coaches=3, minutes=60, seconds=2, sessions=morning
    )
    (later,) = plan.later
    assert later.start == "22:00"
    for squad in ("Copper", "Slate", "Amber"):
        assert cards_of(plan, squad)
        assert not cards_of(plan, squad) & cards_of(later, squad)


def test_weeks_move_up_the_ladder(starter: Library) -> None:
    """In the fourth week the stations of a squad stand higher on their ladders than in the first."""
    plans = [Planner(request(starter, themes=("short handstand",)), starter.searcher, week) for week in (1, 4)]

    def height(planner: Planner) -> float:
        best = [fit.station for fit in planner.evening.fits if fit.cost == 0]
        rungs = [starter.index.place(starter.card(planner.evening.stations[n].card)).rung for n in best]
        return sum(rungs) / len(rungs)

    assert height(plans[0]) < height(plans[1])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("groups:\n  - {name: Tin, level: 3, count: 2, children: [{number: 3}]}\n", "has none of number 3"),
        ("groups:\n  - {name: Tin, level: 3, count: 2, limits: [no-wrists]}\n", "nearest: no-wrist-load"),
        ("groups:\n  - {name: Tin, level: 3, count: 2}\n  - {name: Tin, level: 4, count: 2}\n", "squad Tin twice"),
    ],
)
def test_a_groups_file_with_a_mistake(tmp_path: Path, text: str, says: str) -> None:
    """Named with what there is instead."""
    path = tmp_path / "groups.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(FileUnusable, match=says):
        read_groups(path)

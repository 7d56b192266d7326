"""The check of a plan: a good plan passes, and each way of spoiling it by hand is found and named."""

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from kb.errors import FileUnusable
from kb.facade import Library
from kb.model import Card, Plan
from kb.model.evening import ChildNote
from kb.model.plan import KitUse, Slot, Turn
from kb.plan.audit import audit
from kb.plan.store import plan_json, plan_yaml, read_plan

Spoil = Callable[[Plan], Plan]


def cards_of(library: Library) -> dict[str, Card]:
    """Return all cards by id."""
    return {name: library.card(name) for name in library.index.card_ids}


def broken(library: Library, plan: Plan) -> list[str]:
    """Return the rules that a plan breaks, as they are printed."""
    return [str(one) for one in audit(plan, cards_of(library), library.vocabulary) if not one.advice]


def test_the_demo_plan_breaks_no_rule(starter: Library, demo: Plan) -> None:
    """Everything that the checker knows of holds for the plan that the program makes; each team is everywhere."""
    assert audit(demo, cards_of(starter), starter.vocabulary) == []
    assert len(demo.slots) >= 4
    assert {turn.event for slot in demo.slots for turn in slot.rotation} >= {"vault", "bars", "beam", "floor"}


def slots_with(plan: Plan, number: int, change: Callable[[Slot], Slot]) -> Plan:
    """Return the plan with one slot changed."""
    return replace(plan, slots=tuple(change(s) if n == number else s for n, s in enumerate(plan.slots)))


def turn_with(**fields: object) -> Spoil:
    """Return what changes fields of the first turn of the first slot."""

    def change(slot: Slot) -> Slot:
        return replace(slot, rotation=(replace(slot.rotation[0], **fields), *slot.rotation[1:]))

    return lambda plan: slots_with(plan, 0, change)


def every_turn(change: Callable[[Turn], Turn]) -> Spoil:
    """Return what changes every turn."""
    return lambda plan: replace(
        plan, slots=tuple(replace(slot, rotation=tuple(map(change, slot.rotation))) for slot in plan.slots)
    )


def copy_turn(plan: Plan) -> Plan:
    """Put the first team into the place of the second as well."""
    return slots_with(
        plan, 0, lambda s: replace(s, rotation=(*s.rotation, replace(s.rotation[1], group=s.rotation[0].group)))
    )


def same_again(plan: Plan) -> Plan:
    """Let the second slot be the first once more."""
    return slots_with(plan, 1, lambda s: replace(s, rotation=plan.slots[0].rotation))


def no_wrists(plan: Plan) -> Plan:
    """Let a child of every team have no wrist load."""
    notes = {team.name: (ChildNote(team.children[0], ("no-wrist-load",)),) for team in plan.teams}
    return replace(plan, teams=tuple(replace(team, notes=notes[team.name]) for team in plan.teams))


def more_children(plan: Plan) -> Plan:
    """Let every team have ten children."""
    return replace(plan, teams=tuple(replace(team, children=tuple(range(1, 11)), heights=()) for team in plan.teams))


def nobody_spots(plan: Plan) -> Plan:
    """Let no coach stand by or hold anywhere."""
    return replace(plan, coaches=tuple(replace(coach, spots=()) for coach in plan.coaches))


SPOILT: list[tuple[str, Spoil, str]] = [
    ("a card that there is not", turn_with(card="shapes-wall-lin"), "no card is called 'shapes-wall-lin'; nearest"),
    ("a team that there is not", turn_with(group="Coper A"), "no group is called 'Coper A'; nearest: Copper A"),
    ("a coach that there is not", turn_with(coach="Coach 9"), "no coach is called 'Coach 9'"),
    ("a card above the level", turn_with(card="floor-shin-lift-extension", event="floor"), "is for levels"),
    ("the wrong event", turn_with(event="vault"), "drill, not vault"),
    ("two places at once", copy_turn, "is in 2 places at once"),
    ("a station for two", copy_turn, "2 teams are at"),
    ("the same again", same_again, "comes 2 times to"),
    ("too many children", more_children, "and 10 come"),
    ("a slot too short", lambda plan: slots_with(plan, 3, lambda s: replace(s, minutes=5)), "the slot has 5"),
    ("slots that overlap", lambda p: slots_with(p, 2, lambda s: replace(s, start="17:13")), "begins at 17:13, before"),
    ("a session too short", lambda plan: replace(plan, minutes=60), "past the end of the session"),
    ("too many repetitions", every_turn(lambda turn: replace(turn, reps=99)), "99 repetitions of"),
    ("a child without wrist load", no_wrists, "has no wrist load this week, and"),
    ("no room", lambda plan: replace(plan, lanes=dict.fromkeys(plan.lanes, 1)), "and there is room for 1"),
    ("an event that is closed", lambda plan: replace(plan, lanes={"vault": 2}), "and there is room for 0"),
    ("no mats", lambda plan: replace(plan, kit=plan.kit | {"panel-mat": 1, "carpet-strip": 0}), "there is not enough"),
    ("kit that is not there", turn_with(kit=(KitUse("high-beam", 4),)), "4 of high beam are in use, and there are 1"),
    ("no coaches", every_turn(lambda turn: replace(turn, coach="", also=())), "and has 0"),
    ("one coach for all", every_turn(lambda turn: replace(turn, coach="Coach 1")), "can be seen at once"),
    ("may not spot there", nobody_spots, "may not stand by"),
    ("slots out of order", lambda plan: replace(plan, slots=plan.slots[::-1]), "not numbered 1, 2, 3"),
]


@pytest.mark.parametrize(("spoil", "says"), [(spoil, says) for _, spoil, says in SPOILT], ids=[n for n, _, _ in SPOILT])
def test_what_is_spoilt_by_hand_is_found(starter: Library, demo: Plan, spoil: Spoil, says: str) -> None:
    """The check names slot, team and what is wrong."""
    assert any(says in line for line in broken(starter, spoil(demo)))


def with_turn(turn: Turn) -> Callable[[Slot], Slot]:
    """Return what puts a turn in the place of that of its team."""
    return lambda slot: replace(slot, rotation=(turn, *(t for t in slot.rotation if t.group != turn.group)))


def test_heavy_stations_one_after_the_other(starter: Library, demo: Plan) -> None:
    """Two handstand stations heavy on the wrists in a row are found, and landings the same."""
    cards = cards_of(starter)
    wrists = [c for c in cards.values() if c.load.wrists == "high" and c.event == "beam"][:2]
    jumps = [c for c in cards.values() if c.load.landings * c.group.reps >= 12 and c.event == "vault"][:2]
    for pair, says in ((wrists, "both heavy on the wrists"), (jumps, "both heavy on landings")):
        plan = demo
        for number, card in enumerate(pair):
            turn = Turn(demo.teams[0].name, card.event, card.id)
            plan = slots_with(plan, number, with_turn(turn))
        assert any(says in line for line in broken(starter, plan))


def test_missed_wishes_are_advice(starter: Library, demo: Plan) -> None:
    """A team that stays away from everything breaks no rule; the check says what it misses."""
    name = demo.teams[0].name
    plan = replace(
        demo,
        slots=tuple(replace(s, rotation=tuple(t for t in s.rotation if t.group != name)) for s in demo.slots),
    )
    found = audit(plan, cards_of(starter), starter.vocabulary)
    assert all(one.advice for one in found)
    assert {"does not get to vault", f"has no station in {len(demo.slots)} slots"} <= {one.message for one in found}


def test_a_plan_survives_its_file(demo: Plan, tmp_path: Path) -> None:
    """YAML and JSON give back what was written."""
    for name, text in (("a.yaml", plan_yaml(demo)), ("a.json", plan_json(demo))):
        path = tmp_path / name
        path.write_text(text, "utf-8")
        assert read_plan(path) == demo


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("start: '17:12'", "start: five", r"week\.yaml:\d+: slots\[0\]\.start: found 'five'; needs a time"),
        ("status: ", "statu: ", "status"),
        ("{group: ", "{grup: ", "grup"),
        ("minutes: 90", "minutes: ninety", "a whole number"),
    ],
)
def test_a_file_with_a_mistake_is_refused(demo_file: Path, tmp_path: Path, old: str, new: str, says: str) -> None:
    """With file, line and what was found."""
    path = tmp_path / "week.yaml"
    path.write_text(demo_file.read_text("utf-8").replace(old, new, 1), "utf-8")
    with pytest.raises(FileUnusable, match=says):
        read_plan(path)


def test_a_file_that_there_is_not(tmp_path: Path) -> None:
    """The remedy is named."""
    with pytest.raises(FileUnusable, match="drillkb plan -o"):
        read_plan(tmp_path / "none.yaml")

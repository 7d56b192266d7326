"""`drillkb plan` as a coach and as another program sees it."""

import json
from pathlib import Path

import pytest

from kb.facade import Library
from kb.plan.store import read_plan
from tests.cli.test_commands import run
from tests.plan.demo import GROUPS, LARKMOOR

EVENING = ["--groups", str(GROUPS), "--kit", str(LARKMOOR), "--coaches", "3", "--minutes", "60", "--seconds", "2"]
PROMISED = {"status", "bound", "objective", "slots", "clashes"}


def test_json_has_the_promised_shape(starter: Library) -> None:
    """Status, bound, objective, slots with their rotation, clashes; nothing but JSON is printed."""
    del starter
    result = run("plan", "--theme", "short handstand", *EVENING, "--json")
    assert result.exit_code == 0
    plan = json.loads(result.stdout)
    assert set(plan) >= PROMISED
    assert plan["status"] in ("optimal", "feasible")
    assert plan["bound"] <= plan["objective"]
    for number, slot in enumerate(plan["slots"], start=1):
        assert set(slot) >= {"slot", "start", "minutes", "rotation"}
        assert slot["slot"] == number
        assert all(set(turn) >= {"group", "event", "card", "coach"} for turn in slot["rotation"])


def test_the_grid_fits_a_terminal(starter: Library, tmp_path: Path) -> None:
    """80 columns, every team and slot, how good the plan is, the notice; written and checked again."""
    del starter
    path = tmp_path / "week.yaml"
    words = ["plan", "--theme", "tight body", "--theme", "short handstand", *EVENING, "--alternatives", "1"]
    result = run(*words, "--weeks", "2", "--date", "2027-01-12T17:30", "-o", str(path))
    assert result.exit_code == 0, result.output
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    plan = read_plan(path)
    assert [one.date for one in (plan, *plan.later)] == ["2027-01-12", "2027-01-19"]
    for said in (
        "Session 2",
        "Another plan, 1",
        "points of missed wishes",
        "A qualified coach decides",
        str(path)[:20],
    ):
        assert said in result.stdout
    for slot in plan.slots:
        assert f"\n{slot.start} " in result.stdout
    again = run("plan", "--check", str(path))
    assert again.exit_code == 0, again.output
    assert "No rule is broken." in again.stdout


def test_a_spoilt_plan_is_exit_1(demo_file: Path, tmp_path: Path) -> None:
    """Changed by hand: the line of the check says what is wrong, for people and as JSON."""
    path = tmp_path / "week.yaml"
    path.write_text(demo_file.read_text("utf-8").replace("level: 3", "level: 7"), "utf-8")
    result = run("plan", "--check", str(path))
    assert result.exit_code == 1
    assert "the team is level 7" in " ".join(result.stdout.split())
    found = json.loads(run("plan", "--check", str(path), "--json").stdout)
    assert found["problems"][0]["group"].startswith("Copper")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["plan", "--theme", "tight body"], 2, "--groups, --kit, --coaches, --minutes"),
        (["plan", "--theme", "x", *EVENING, "-o", "week.doc"], 2, ".pdf, .html, .md, .yaml, .json, .ics"),
        (["plan", "--theme", "tight body", *EVENING, "--open", "vault=x"], 2, "EVENT=N"),
        (["plan", "--theme", "tight body", *EVENING, "--pin", "beam-turn-out@Tin"], 2, "No group is called 'Tin'"),
        (["plan", "--check", "none.yaml"], 3, "there is no such file"),
    ],
)
def test_errors_are_one_sentence(starter: Library, words: list[str], code: int, says: str) -> None:
    """With what to do, and no traceback."""
    del starter
    result = run(*words)
    assert result.exit_code == code
    assert says in result.stderr
    assert "Traceback" not in result.output

"""The log through the library and the command line: what is written, what is refused, what is told."""

import datetime
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import kb
from kb.cli import log as log_command
from kb.cli.main import group as command_line
from kb.errors import FileUnusable, OutOfRange, PersonNamed, UnknownName, UsageError
from kb.facade import Library

CARD = "vault-tall-fall"
TODAY = datetime.date.today()


def run(*words: str, typed: str | None = None) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(command_line, words, prog_name="drillkb", input=typed)


def test_what_is_written_is_there(starter: Library, log_file: Path) -> None:
    """Everything that was said, today without a date, and the squad as it was written first."""
    first = starter.log(CARD, "helped", group=" Slate ")
    second = starter.log(
        CARD,
        "too-hard",
        group="SLATE",
        child=4,
        fault="vault-pike-before-landing",
        when=datetime.date(2026, 3, 2),
        note=" with the\nlow board ",
    )
    assert (first.number, first.when, first.group) == (1, TODAY, "Slate")
    assert (second.group, second.child, second.note) == ("Slate", 4, "with the low board")
    assert starter.log_entries() == (first, second)
    assert starter.log_entries("slate") == (first, second)
    assert starter.log_entries("Amber") == ()
    assert starter.log_file == log_file
    assert starter.undo_log() == second
    assert kb.open_library().log_entries() == (first,)


REFUSED: list[tuple[dict[str, Any], type[Exception], str]] = [
    ({"card": "vault-tal-fall"}, UnknownName, "vault-tall-fall"),
    ({"result": "great"}, UnknownName, "helped"),
    ({"fault": "vault-pike-before-land"}, UnknownName, "vault-pike-before-landing"),
    ({"when": TODAY + datetime.timedelta(days=1)}, OutOfRange, "to today"),
    ({"when": datetime.date(1926, 3, 2)}, OutOfRange, "from 2000-01-01"),
    ({"group": "Slate", "child": 0}, OutOfRange, "from 1 to 99"),
    ({"child": 4}, UsageError, "name the squad too"),
    ({"group": "Slate!"}, UsageError, "letters and digits"),
    ({"group": " "}, UsageError, "letters and digits"),
    ({"group": "x" * 31}, UsageError, "letters and digits"),
    ({"group": "Copper 4"}, UsageError, "--group Copper --child 4"),
    ({"group": "Zuleika Brandt"}, PersonNamed, "Zuleika Brandt"),
    ({"note": "Emma was brave"}, PersonNamed, "Emma"),
    ({"note": "x" * 201}, UsageError, "at most 200"),
]


@pytest.mark.parametrize(("said", "error", "words"), REFUSED)
def test_what_cannot_be_written_is_refused(
    starter: Library, log_file: Path, said: dict[str, Any], error: type[Exception], words: str
) -> None:
    """One sentence that says what to do, and the log as it was."""
    starter.log(CARD, "helped", group="Copper")
    before = log_file.read_bytes()
    with pytest.raises(error, match=words):
        starter.log(**{"card": CARD, "result": "helped"} | said)
    assert log_file.read_bytes() == before


def test_a_coach_who_is_sure_is_believed(starter: Library, log_file: Path) -> None:
    """And a squad that is in the log already is not questioned again."""
    del log_file
    starter.log(CARD, "helped", group="Torva Brandt", sure=True)
    assert starter.log(CARD, "helped", group="torva brandt", note="for Torva it was fine").group == "Torva Brandt"


def test_mastered_by_a_squad(starter: Library, log_file: Path) -> None:
    """For the plan: the cards that a squad no longer needs."""
    del log_file
    starter.log(CARD, "mastered", group="Slate")
    starter.log("vault-low-stack-flat-back", "mastered", group="Slate", child=4)
    assert starter.mastered("Slate") == {CARD}
    assert starter.mastered("Slate", 4) == {CARD, "vault-low-stack-flat-back"}
    assert starter.mastered("Amber") == frozenset()


def test_a_log_that_cannot_be_read_costs_no_answer(log_file: Path) -> None:
    """A question is answered without it, and the reason is told; the log itself says it with an error."""
    said: list[str] = []
    log_file.parent.mkdir()
    log_file.write_text("shopping list\n", "utf-8")
    library = kb.open_library(say=said.append)
    assert library.ask("piking on vault landing").drills
    assert len(said) == 1
    assert "is no practice log" in said[0]
    with pytest.raises(FileUnusable):
        library.log_entries()


def test_what_is_wrong_in_the_log_is_told_once(log_file: Path) -> None:
    """Not with every question, but again when the file has changed."""
    said: list[str] = []
    library = kb.open_library(say=said.append)
    library.log(CARD, "helped", group="Slate")
    with log_file.open("a", encoding="utf-8") as file:
        file.write("{oops}\n")
    for _ in range(3):
        library.ask("piking on vault landing")
    assert len(said) == 1
    assert "passed over" in said[0]
    library.ask("piking on vault landing", group="Amber")
    assert said[1:] == ["Nothing is logged with Amber; squads in the log: Slate."]


def test_the_command_writes_shows_and_takes_back(starter: Library, log_file: Path) -> None:
    """As a coach uses it, with and without --json."""
    del starter
    assert "Nothing is logged yet" in run("log").stdout
    fault = "vault-pike-before-landing"
    out = run("log", CARD, "--group", "Slate", "--child", "4", "--result", "no-change", "--fault", fault).stdout
    words = " ".join(out.split())
    assert f"Logged: {TODAY}, Slate 4, {CARD}: no change, for {fault}" in words
    assert f"{CARD}: used once with Slate, helped 0, no change 1" in words
    done = run("log", CARD, "--result", "helped", "--group", "slate", "--date", "2026-03-02", "--note", "low", "--json")
    assert json.loads(done.stdout) == {
        "number": 2,
        "when": "2026-03-02",
        "card": CARD,
        "result": "helped",
        "group": "Slate",
        "child": None,
        "fault": None,
        "note": "low",
    }
    assert [one["number"] for one in json.loads(run("log", "--last", "5", "--json").stdout)] == [1, 2]
    assert [one["number"] for one in json.loads(run("log", "--last", "1", "--json").stdout)] == [2]
    shown = run("log").stdout
    assert shown.index("   1. ") < shown.index("   2. ")
    assert str(log_file) in shown
    assert "Taken back: 2026-03-02, Slate, vault-tall-fall: helped" in run("log", "--undo").stdout
    assert json.loads(run("log", "--undo", "--json").stdout)["number"] == 1
    assert run("log", "--undo").exit_code == 2


def test_the_command_reports(starter: Library, log_file: Path, tmp_path: Path) -> None:
    """A table of 80 columns, JSON, a picture, one squad alone."""
    del starter, log_file
    assert "Nothing is logged yet" in run("log", "--report", "week").stdout
    for squad, result in (("Slate", "helped"), ("Slate", "too-hard"), ("Amber", "mastered")):
        run("log", CARD, "--group", squad, "--result", result)
    table = run("log", "--report", "squad").stdout
    assert table.splitlines()[1].split() == ["Slate", "2", "1", "-", "-", "1"]
    assert table.splitlines()[2].split() == ["Amber", "1", "-", "1", "-", "-"]
    for by in ("week", "fault", "squad"):
        out = run("log", "--report", by, "--plot", str(tmp_path / "a.svg")).stdout
        assert max(map(len, out.splitlines())) <= 80
        assert (tmp_path / "a.svg").is_file()
    report = json.loads(run("log", "--report", "week", "--group", "Amber", "--json").stdout)
    assert (report["by"], report["group"], report["uses"]) == ("week", "Amber", 1)
    assert report["rows"][0]["counts"] == {"helped": 0, "mastered": 1, "no_change": 0, "too_hard": 0}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([CARD], "--result"),
        ([CARD, "--result", "great"], "helped"),
        (["--last", "2", "--undo"], "do not go together"),
        ([CARD, "--result", "helped", "--report", "week"], "do not go together"),
        (["--child", "4"], "--child goes with CARD"),
        (["--undo", "--group", "Slate"], "--group goes with CARD or --last or --report"),
        (["--plot", "a.svg"], "--plot goes with --report"),
        ([CARD, "--result", "helped", "--date", "2.3.2026"], "%Y-%m-%d"),
        ([CARD, "--result", "helped", "--note", "Emma cried"], "add --yes"),
        (["vault-tal-fall", "--result", "helped"], CARD),
    ],
)
def test_the_command_refuses(starter: Library, log_file: Path, words: list[str], says: str) -> None:
    """Exit 2, what to do, and nothing written."""
    del starter
    result = run("log", *words)
    assert result.exit_code == 2
    assert says in result.stderr
    assert "Traceback" not in result.output
    assert not log_file.exists()


def test_on_a_terminal_a_name_is_asked_about(starter: Library, log_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No writes nothing, yes writes it; --yes does not ask."""
    del starter
    note = ("log", CARD, "--result", "helped", "--note", "Emma cried")

    class Terminal:
        stdin = type("Stdin", (), {"isatty": staticmethod(lambda: True)})

    monkeypatch.setattr(log_command, "sys", Terminal)
    refused = run(*note, typed="n\n")
    assert refused.exit_code == 2
    assert "'Emma'" in refused.stderr
    assert not log_file.exists()
    assert run(*note, typed="y\n").exit_code == 0
    assert run(*note, "--yes").exit_code == 0
    assert len(kb.open_library().log_entries()) == 2


def test_a_later_versions_log_is_refused_with_exit_3(starter: Library, log_file: Path) -> None:
    """Writing is refused in one sentence; showing it works."""
    del starter
    log_file.parent.mkdir()
    log_file.write_text('{"format": 9}\n', "utf-8")
    for words in (["log", CARD, "--result", "helped"], ["log", "--undo"]):
        result = run(*words)
        assert (result.exit_code, result.stdout) == (3, "")
        assert "upgrade drillkb" in result.stderr
    assert run("log", "--last", "3").exit_code == 0
    assert log_file.read_text("utf-8") == '{"format": 9}\n'


def test_half_a_line_is_told_to_the_coach(starter: Library, log_file: Path) -> None:
    """The next entry is written, and she hears what was put aside."""
    del starter
    run("log", CARD, "--result", "helped")
    with log_file.open("a", encoding="utf-8") as file:
        file.write('{"number":2,"wh')
    done = run("log", CARD, "--result", "mastered")
    assert done.exit_code == 0
    assert "ended in half a line" in done.stderr
    assert log_file.with_name("practice.jsonl.torn").read_text("utf-8") == '{"number":2,"wh\n'
    assert len(json.loads(run("log", "--json").stdout)) == 2

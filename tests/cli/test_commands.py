"""The command line as a coach and as another program sees it: output, exit codes, errors in one sentence."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.cli.main import COMMANDS, group
from kb.facade import Library
from tests.support import small_library

DESIGN_QUESTION = {"text", "symptom", "event", "level", "without", "have", "spotters", "corrections"}
DESIGN_FAULT = {"id", "event", "name", "share", "causes"}
DESIGN_DRILL = {"id", "title", "event", "level", "score", "fault", "cause", "why", "equipment", "spotting", "ladder"}
DESIGN_LADDER = {"skill", "rung", "of", "before", "after"}
"""The names that other programs rely on; more may be added, none dropped."""


def run(*words: str) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(group, words, prog_name="drillkb")


def test_find_json_has_the_promised_shape(starter: Library) -> None:
    """Every promised field is there, with the promised kind of value."""
    del starter
    result = run("find", "piking on vault landing", "--event", "vault", "--level", "3", "--json")
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert set(answer) >= {"question", "verdict", "caution", "faults", "drills", "set_aside", "took_ms"}
    assert set(answer["question"]) >= DESIGN_QUESTION
    assert answer["verdict"] == "answered"
    assert answer["faults"]
    assert all(set(fault) >= DESIGN_FAULT for fault in answer["faults"])
    assert all(set(cause) >= {"id", "name", "tell"} for fault in answer["faults"] for cause in fault["causes"])
    assert answer["drills"]
    for drill in answer["drills"]:
        assert set(drill) >= DESIGN_DRILL
        assert set(drill["ladder"]) >= DESIGN_LADDER
        assert set(drill["spotting"]) >= {"grade", "spotters"}
        assert drill["level"][0] <= 3 <= drill["level"][1]


@pytest.mark.parametrize(
    ("question", "fault"),
    [
        ("piking on vault landing", "vault-pike-before-landing"),
        ("short handstand on beam", "beam-handstand-short"),
        ("sits down on her front stride circle", "bars-sits-stride-circle"),
        ("roundoff lands chest down", "floor-round-off-chest-down"),
    ],
)
def test_the_first_four_questions(starter: Library, question: str, fault: str) -> None:
    """The questions of the first page find their fault and three drills for it."""
    answer = starter.ask(question, top=3)
    assert answer.faults[0].id == fault
    assert [drill.fault for drill in answer.drills] == [fault] * 3


def test_find_prints_what_a_coach_needs_at_80_columns(starter: Library) -> None:
    """Title, event, level, why, kit, spotting, ladder, caution and the standing notice, no line too long, no colour."""
    del starter
    result = run("find", "short handstand on beam")
    assert result.exit_code == 0
    assert "\x1b" not in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    for label in ("Why", "Kit", "Spot", "Ladder", "Move up", "CAUTION"):
        assert len(re.findall(rf"^ +{label} ", result.stdout, re.M)) == 3, label
    words = " ".join(result.stdout.split())
    assert "A qualified coach decides" in words
    assert "federation's rules" in words


def test_pain_gets_stop_and_no_drill(starter: Library) -> None:
    """Pain is answered with stop and refer, and exit code 0."""
    del starter
    result = run("find", "her wrist hurts in handstand on beam")
    assert result.exit_code == 0
    assert result.stdout.startswith("STOP")
    assert "drillkb card" not in result.stdout


def test_nonsense_gets_no_drill(starter: Library) -> None:
    """Another world is no good match, and exit code 0."""
    del starter
    result = run("find", "best recipe for banana bread", "--json")
    answer = json.loads(result.stdout)
    assert result.exit_code == 0
    assert answer["verdict"] == "no_good_match"
    assert answer["drills"] == []


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["find", "bent arms", "--event", "valt"], 2, "vault"),
        (["find", "bent arms", "--level", "23"], 2, "from 1 to 7"),
        (["find", "bent arms", "--without", "tramplin"], 2, "tramp"),
        (["find"], 2, "WORDS"),
        (["fnd", "x"], 2, "find"),
        (["card", "vault-tal-fall"], 2, "vault-tall-fall"),
        (["--library", "/nowhere", "find", "x"], 3, "/nowhere"),
        (["--library", "/nowhere", "check"], 3, "/nowhere"),
    ],
)
def test_errors_are_one_sentence_and_an_exit_code(starter: Library, words: list[str], code: int, says: str) -> None:
    """A wrong call says what is wrong and what is near, without a traceback."""
    del starter
    result = run(*words)
    assert result.exit_code == code
    assert says in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""


def test_card_shows_every_section(starter: Library) -> None:
    """`card` prints the whole card, readable at 80 columns."""
    card = starter.card("vault-tall-fall")
    result = run("card", card.id)
    words = " ".join(result.stdout.split())
    assert result.exit_code == 0
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    for heading, text in card.sections.items():
        assert heading in words
        first = re.sub(r"\*\*|^[-*\d.]+ ", "", text.splitlines()[0]).split()[:4]
        assert " ".join(first) in words
    assert json.loads(run("card", card.id, "--json").stdout)["id"] == card.id


def test_check_finds_errors_and_says_so_by_exit_code(tmp_path: Path) -> None:
    """A clean library is 0; a library with a mistake is 1, with file, line and remedy."""
    library = small_library(tmp_path)
    assert run("--library", str(library), "check").exit_code == 0
    card = sorted(library.glob("*/*.md"))[0]
    card.write_text(card.read_text("utf-8").replace("stage: ", "stage: x", 1), "utf-8")
    result = run("check", str(library))
    assert result.exit_code == 1
    assert re.search(rf"{card.name}:\d+: stage: found 'x", result.stdout)
    found = json.loads(run("check", str(library), "--json").stdout)
    assert found["problems"][0]["field"] == "stage"


def test_index_reports_what_it_did(tmp_path: Path) -> None:
    """`index` says what it read, and a second run has nothing left to read."""
    library = str(small_library(tmp_path))
    first = json.loads(run("--library", library, "index", "--json").stdout)
    second = json.loads(run("--library", library, "index", "--json").stdout)
    assert first["texts_encoded"] > 0
    assert second["texts_encoded"] == 0


def test_every_command_is_there_and_has_help() -> None:
    """Each command of the help exists, and has a help text and a --json option."""
    listed = run("--help").stdout
    for name in COMMANDS:
        assert f"  {name} " in listed
        text = run(name, "--help").stdout
        assert "--json" in text
        assert len(text.splitlines()) > 5


def test_ladder_json_has_the_promised_shape(starter: Library) -> None:
    """Skill, start and rungs, each with the promised fields."""
    del starter
    result = run("ladder", "kip", "--level", "4", "--spotters", "0", "--json")
    assert result.exit_code == 0
    ladder = json.loads(result.stdout)
    assert ladder["skill"] == "kip"
    assert 1 <= ladder["start"] <= len(ladder["rungs"])
    promised = {"rung", "card", "title", "stage", "level", "spotting", "ready_when", "instead"}
    assert all(set(rung) >= promised for rung in ladder["rungs"])


def test_ladder_as_a_coach_reads_it(starter: Library) -> None:
    """Rungs in order, the one to start on marked, the notice at the end."""
    del starter
    out = run("ladder", "glide", "kip", "--level", "4", "--afraid").stdout
    assert "smallest steps" in out
    assert out.count("start here") == 1
    assert "A qualified coach decides" in out


@pytest.mark.parametrize(("name", "begins"), [("a.svg", b"<svg"), ("a.png", b"\x89PNG")])
def test_a_card_is_drawn(starter: Library, tmp_path: Path, name: str, begins: bytes) -> None:
    """As SVG and as PNG."""
    del starter
    path = tmp_path / name
    result = run("card", "vault-raised-stack-flat-back", "--picture", str(path))
    assert result.exit_code == 0
    assert path.read_bytes().startswith(begins)


def test_a_picture_of_another_kind_is_refused(starter: Library, tmp_path: Path) -> None:
    """Exit 2, with what it can be."""
    del starter
    result = run("card", "vault-raised-stack-flat-back", "--picture", str(tmp_path / "a.jpg"))
    assert result.exit_code == 2
    assert ".svg or .png" in result.output


DESIGN_SIZE = {"piece", "rule", "target_cm", "tolerance_cm", "source", "measure", "build", "reached_cm"}
LARKMOOR = "drills/kits/larkmoor.yaml"


def test_size_json_has_the_promised_shape(starter: Library) -> None:
    """Every promised field is there; inches in, centimetres out."""
    del starter
    for height in ("128", "128cm", "50.4in", "4ft2.4"):
        result = run("size", "vault-tall-fall", "--height", height, "--kit", LARKMOOR, "--json")
        assert result.exit_code == 0
        sizes = json.loads(result.stdout)
        assert (sizes["card"], sizes["height_cm"]) == ("vault-tall-fall", 128.0)
        (piece,) = sizes["pieces"]
        assert set(piece) >= DESIGN_SIZE
        assert all(set(item) >= {"item", "count"} for item in piece["build"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["vault-tall-fall", "--height", "60"], "from 95 to 180 cm"),
        (["vault-tall-fall", "--height", "220"], "from 95 to 180 cm"),
        (["vault-tall-fall", "--height", "tall"], "feet and inches"),
        (["vault-tall-fall"], "--age YEARS"),
        (["vault-tall-fall", "--age", "4"], "from 6 to 13"),
        (["vault-tall-fal", "--height", "128"], "vault-tall-fall"),
        (["vault-tall-fall", "--height", "128", "--measured", "hip"], "RULE=CM"),
        (["vault-tall-fall", "--height", "128", "--group", "Slate"], "--squad"),
        (["vault-tall-fall", "--height", "128", "--level", "44"], "the level is 44"),
    ],
)
def test_size_refuses(starter: Library, words: list[str], says: str) -> None:
    """Out of range or wrongly written is exit 2 and one sentence that says what to do."""
    del starter
    result = run("size", *words)
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stderr.count("\n") == 1


def test_size_as_a_coach_reads_it(starter: Library) -> None:
    """Size, stack, how to measure, source and the notice, for a child, by age, in inches and for a squad."""
    del starter
    plain = run("size", "vault-tall-fall", "--height", "128", "--kit", LARKMOOR).stdout
    for words in ("53 cm", "soft mat 30 cm", "Measure her", "Winter", "A qualified coach checks the station"):
        assert words in plain
    assert "26.5 in" in run("size", "bars-knuckles-up", "--height", "4ft2", "--inches").stdout
    assert "most are 123 cm to 144 cm tall" in " ".join(run("size", "vault-tall-fall", "--age", "9").stdout.split())
    squad = run("size", "vault-tall-fall", "--squad", "drills/demo/groups.yaml", "--group", "Slate", "--kit", LARKMOOR)
    assert "Build 1" in squad.stdout
    assert "Slate 7" in squad.stdout


def test_sizes_in_card_and_find(starter: Library, tmp_path: Path) -> None:
    """A height brings the sizes to a card, its picture and an answer."""
    del starter
    assert "Sizes for a child of 118 cm" in run("card", "vault-tall-fall", "--height", "118").stdout
    picture = run("card", "vault-tall-fall", "--height", "118", "--picture", str(tmp_path / "a.svg"))
    assert "for a child of 118 cm" in " ".join(picture.stdout.split())
    assert "Drawn for a child of 118 cm" in (tmp_path / "a.svg").read_text("utf-8")
    assert "Sizes    top of the soft stack" in run("find", "piking on vault landing", "--height", "118").stdout


def test_a_library_beside_the_coach(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A library is named from the folder that she stands in, as she would."""
    folder = small_library(tmp_path)
    monkeypatch.chdir(folder.parent)
    for words in (["find", "folds on landing"], ["check"], ["index"], ["hear"]):
        result = run("--library", folder.name, *words)
        assert result.exit_code == 0, result.stderr

"""`new`, `import`, `export` and the new sides of `check`, as a coach and as another program sees them."""

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from kb.cli.main import group
from kb.errors import UsageError
from kb.facade import Library
from kb.library import load_collection
from tests.support import FIXTURES, SMALL, small_library

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")


def run(*words: str, typed: str | None = None) -> Result:
    """Run the command line in this process, with lines typed into it."""
    return CliRunner().invoke(group, words, prog_name="drillkb", input=typed)


@pytest.fixture(scope="module")
def own(starter: Library, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return a copy of the starter library, made by the command."""
    del starter
    folder = tmp_path_factory.mktemp("own") / "drills"
    done = run("export", "--folder", str(folder))
    assert done.exit_code == 0
    assert "drillkb --library" in done.stdout
    return str(folder)


def test_new_from_flags(own: str) -> None:
    """No question is asked; what was filled in is told; the card is there and a second one gets another name."""
    words = ["--library", own, "new", "--yes", "--title", "Beanbag on the ankles", "--event", "bars", "--kit"]
    words += ["low bar, beanbag, 2 panel mats", "--sees", "bends her arms in the cast", "--level", "4"]
    words += ["--set", r"Do=1. Front support.\n2. Cast.\n3. Come back.", "--set", "spotting.grade=watch"]
    first, second = run(*words), run(*words, "--json")
    assert first.exit_code == second.exit_code == 0
    assert "Filled in" in first.stdout
    assert "A qualified coach decides" in first.stdout
    found = json.loads(second.stdout)
    assert (found["id"], found["kept_out"]) == ("bars-beanbag-on-the-ankles-2", False)
    assert found["twins"][0]["card"] == "bars-beanbag-on-the-ankles"
    assert load_collection(Path(own)).cards["bars-beanbag-on-the-ankles"].levels == (4, 4)


def test_new_asks_and_enter_answers(own: str) -> None:
    """The title and the steps are typed, a number is chosen, Enter does the rest."""
    typed = ["Tape mark for the toes", "5", "closed shoulders in the handstand", "1", "", "", "wall; 2 panel mats", ""]
    typed += ["", "1. Kick up.", "2. Hold for five.", "", ""]  # set up, steps, cues
    result = run("--library", own, "new", typed="\n".join(typed + [""] * 12) + "\n")
    assert result.exit_code == 0, result.output
    assert "Which skill does it lead to?" in result.stdout
    card = load_collection(Path(own)).cards["floor-tape-mark-for-the-toes"]
    assert card.corrects[0].fault == "floor-handstand-closed-shoulders"
    assert card.sections["Do"] == "1. Kick up.\n2. Hold for five."
    assert [(piece.item, piece.count) for piece in card.equipment] == [("wall", 1), ("panel-mat", 2)]


def test_new_asks_again_for_what_it_does_not_know(own: str) -> None:
    """An unknown piece of kit is told with the nearest; no at the end writes nothing."""
    typed = ["Never written", "1", "1", "", "", "panell mat", "panel-mat", *[""] * 10, "n"]
    result = run("--library", own, "new", typed="\n".join(typed) + "\n")
    assert "found 'panell-mat'" in result.stdout
    assert "Nothing was written" in result.stdout
    assert not list(Path(own).glob("*/*never-written.md"))


def test_new_from_a_note(own: str, tmp_path: Path) -> None:
    """From a file, from the input and from text; what is still wrong is told and the card is kept out."""
    note = "Stick drop\nEvent: vault\nKit: block, soft mat 20 cm\n1. Step off the block.\n2. Stick it."
    (tmp_path / "note.txt").write_text(note, "utf-8")
    for source, typed in ((str(tmp_path / "note.txt"), None), ("-", note), (note, None)):
        result = run(
            "--library", own, "new", "--yes", "--from", source, "--set", "spotting.grade=by-the-side", typed=typed
        )
        assert result.exit_code == 0, result.output
        assert "Still wrong" in result.stdout
        assert "spotting.hands: is missing" in " ".join(result.stdout.split())
        assert "kept out of answers" in " ".join(result.stdout.split())
    assert len(list(Path(own).glob("vault/vault-stick-drop*.md"))) == 3
    for path in Path(own).glob("vault/vault-stick-drop*.md"):
        path.unlink()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["new", "--yes", "--title", "x"], 3, "drillkb club"),
        (["import", "x.zip"], 3, "drillkb club"),
        (["--library", "OWN", "new", "--yes"], 2, "needs a title"),
        (["--library", "OWN", "new", "--yes", "--title", "x", "--event", "valt"], 2, "vault"),
        (["--library", "OWN", "new", "--yes", "--title", "x", "--set", "Do"], 2, "NAME=VALUE"),
        (["--library", "OWN", "new", "--yes", "--title", "x", "--set", "Doo=y"], 2, "'Doo'"),
        (["--library", "OWN", "new", "--yes", "--title", "my neck hurts"], 2, "sign to stop"),
        (["--library", "OWN", "import"], 2, "--undo"),
        (["--library", "OWN", "import", "/nowhere.zip"], 3, "/nowhere.zip"),
        (["--library", "OWN", "import", "--undo"], 2, "no import"),
        (["export"], 2, "-o FILE"),
        (["export", "--folder", "x", "--event", "bars"], 2, "--event"),
        (["check", "--gaps", "--schema"], 2, "either"),
    ],
)
def test_wrong_calls_are_one_sentence(own: str, words: list[str], code: int, says: str) -> None:
    """An exit code, one line on standard error, what to do."""
    result = run(*(own if word == "OWN" else word for word in words))
    assert result.exit_code == code, result.output
    assert says in result.stderr
    assert [line for line in result.stderr.splitlines() if says in line] == result.stderr.splitlines()[-1:]


def test_import_asks_and_undo_takes_back(tmp_path: Path) -> None:
    """Without a yes nothing comes in; with it all does; --undo takes it out; clashes stand side by side."""
    library = small_library(tmp_path)
    club = tmp_path / "club" / "vault"
    club.mkdir(parents=True)
    (club / "vault-climb.md").write_text(GOOD, "utf-8")
    (club / "vault-bad.md").write_text(GOOD.replace("stage: low", "stage: lowe"), "utf-8")
    mine = (SMALL / "vault" / "vault-kick-to-pile.md").read_text("utf-8")
    (club / "vault-kick-to-pile.md").write_text(mine.replace("Kick to the pile", "Boot to the heap"), "utf-8")
    before = set(load_collection(library).cards)
    call = ["--library", str(library), "import", str(club.parent)]
    for typed in (None, "n\n"):
        result = run(*call, typed=typed)
        assert result.exit_code == 0
        assert "Nothing was imported" in result.stdout
        assert "found 'lowe'" in result.stdout
        assert "Kick to the pile" in result.stdout
        assert "| Boot to the heap" in result.stdout
        assert set(load_collection(library).cards) == before
    result = run(*call, "--rest", str(tmp_path / "rest"), typed="y\n")
    assert "1 cards imported" in result.stdout
    assert set(load_collection(library).cards) - before == {"vault-climb"}
    assert (tmp_path / "rest" / "problems.txt").is_file()
    assert "1 cards of" in run("--library", str(library), "import", "--undo").stdout
    assert set(load_collection(library).cards) == before


def test_import_json(tmp_path: Path) -> None:
    """The plan in full, and what came in with --yes."""
    library = small_library(tmp_path)
    (tmp_path / "club.csv").write_text("Drill;Level;Our rating\nTall fall;3-5;9\n", "utf-8")
    result = run("--library", str(library), "import", str(tmp_path / "club.csv"), "--map", "Our rating=cap", "--json")
    found = json.loads(result.stdout)
    assert found["imported"] is None
    assert [(column["column"], column["field"], column["how"]) for column in found["plan"]["columns"]] == [
        ("Drill", "title", "same name"),
        ("Level", "level", "same name"),
        ("Our rating", "cap", "given"),
    ]
    (card,) = found["plan"]["cards"]
    assert (card["state"], card["source"]) == ("has problems", "club.csv, row 2")
    shutil.copytree(SMALL / "vault", tmp_path / "cards")
    result = run("--library", str(library), "import", str(tmp_path / "cards"), "--yes", "--json")
    assert json.loads(result.stdout)["imported"] == {"number": "", "source": str(tmp_path / "cards"), "files": []}


def test_export_json(tmp_path: Path) -> None:
    """What was written and how many."""
    result = run("--library", str(SMALL), "export", "-o", str(tmp_path / "a.zip"), "--json")
    assert json.loads(result.stdout) == {"path": str(tmp_path / "a.zip"), "cards": 7, "left_out": []}


def test_check_schema() -> None:
    """A schema that a general validator accepts."""
    result = run("check", str(SMALL), "--schema")
    assert result.exit_code == 0
    jsonschema.Draft202012Validator.check_schema(json.loads(result.stdout))


def test_check_gaps(starter: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every kind of hole has its heading; JSON has the same holes; holes are no errors."""
    del starter
    asked: list[str] = []
    monkeypatch.setattr("kb.keep.gaps.heard_wrongly", lambda *_: iter(asked))  # 30 s; tests/keep/test_gaps.py asks
    result, as_json = run("check", "--gaps"), run("check", "--gaps", "--json")
    assert result.exit_code == as_json.exit_code == 0
    for head in ("No card of a low stage", "Nothing without a spotter", "Thin ladders", "Words that lead"):
        assert head in result.stdout
    gaps = json.loads(as_json.stdout)["gaps"]
    assert gaps
    assert all(" ".join(gap["message"].split()) in " ".join(result.stdout.split()) for gap in gaps)


def test_the_book_of_an_event(starter: Library, tmp_path: Path) -> None:
    """An independent reader finds every drill of the event in the PDF; a file that is there is not overwritten."""
    path = tmp_path / "shapes.pdf"
    done = starter.export_book(path, ("shapes",))
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())
    cards = [starter.card(name) for name in starter.index.card_ids if starter.card(name).event == "shapes"]
    assert done.cards == len(cards)
    assert all(card.title in words for card in cards)
    with pytest.raises(UsageError, match="not overwritten"):
        starter.export_book(path)

"""Imports: nothing enters unchecked, clashes stand side by side, all comes in or nothing, and goes out again whole."""

import csv
import shutil
import zipfile
from pathlib import Path

import pytest
import xlsxwriter
import yaml

from kb.errors import FileUnusable, UsageError
from kb.facade import Library, open_library
from kb.keep.fields import card_fields
from kb.library import load_collection
from kb.model.keep import ImportPlan
from tests.support import FIXTURES, SMALL

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")
CLIMB = GOOD.replace("Walk the wall and tip", "Climb and fall like a tree")
OTHER = (
    CLIMB.replace("A panel mat at the wall for the hands and two soft mats behind her.", "Chalk on a beam of tape.")
    .replace("1. Front support with the feet at the wall.", "1. Squat, arms long, chin in.")
    .replace("2. Walk up until the tummy nearly touches.", "2. Reach over the tape and rise to the toes.")
    .replace("3. Push away from the wall with the toes.", "3. Lean back, seat tight.")
)
"""A third card, unlike the others."""


def states(plan: ImportPlan) -> dict[str, str]:
    """Return what becomes of each card."""
    return {card.id: card.state for card in plan.cards}


def folder(path: Path, files: dict[str, str]) -> Path:
    """Write files into a folder."""
    for name, text in files.items():
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_text(text, "utf-8")
    return path


def snapshot(library: Library) -> dict[str, bytes]:
    """Return every card file."""
    return {path.name: path.read_bytes() for path in library.folder.glob("*/*.md")}


def test_every_broken_fixture_stays_out(tmp_path: Path, small: Library) -> None:
    """Each file that `check` finds an error in is told with it and does not come in."""
    expected = yaml.safe_load((FIXTURES / "cards" / "expected.yaml").read_text("utf-8"))
    cards = {case["file"] for case in expected if case["file"].endswith(".md")}
    cards.remove("folder-disagrees.md")  # an import puts a card into its event's folder
    for file in cards:
        (tmp_path / "club").mkdir(exist_ok=True)
        shutil.copy(FIXTURES / "cards" / file, tmp_path / "club" / file)
    plan = small.plan_import(tmp_path / "club")
    assert len(plan.cards) == len(cards)
    assert [(card.id, card.state) for card in plan.cards if card.state != "has problems"] == []
    assert all(card.problems for card in plan.cards)
    before = snapshot(small)
    assert small.take_in(plan).files == ()
    assert snapshot(small) == before


def test_a_library_comes_in_and_goes_out_whole(tmp_path: Path, small: Library) -> None:
    """A zip of another club: what is there already is passed over, what is new comes in, undo restores all bytes."""
    club = folder(tmp_path / "club", {"larkmoor/vault/vault-climb.md": CLIMB, "larkmoor/notes.txt": "hello"})
    shutil.copytree(SMALL, club / "larkmoor", dirs_exist_ok=True)
    shutil.make_archive(str(tmp_path / "club"), "zip", club)
    before = snapshot(small)
    plan = small.plan_import(tmp_path / "club.zip", take=("*",))
    assert states(plan).pop("vault-climb") == "comes in"
    assert sorted(states(plan).values()) == ["already there"] * 7 + ["comes in"]
    assert small.take_in(plan).files == ("vault/vault-climb.md",)
    assert [str(problem) for problem in small.problems] == []
    assert small.card("vault-climb").title == "Climb and fall like a tree"
    assert small.undo_import().removed == ("vault/vault-climb.md",)
    assert snapshot(small) == before
    assert "vault-climb" not in small.collection.cards


def test_the_same_name_is_shown_side_by_side(tmp_path: Path, small: Library) -> None:
    """Another card of a name that is taken stays out, with the fields in which the two differ; taken, it is renamed."""
    mine = (SMALL / "vault" / "vault-kick-to-pile.md").read_text("utf-8")
    theirs = mine.replace("level: 3-4", "level: 3").replace("Kick to the pile", "Boot to the heap")
    follower = OTHER.replace("after: [vault-timber-fall]", "after: [vault-kick-to-pile]  # theirs")
    club = folder(tmp_path / "club", {"vault/vault-kick-to-pile.md": theirs, "vault/vault-follow.md": follower})
    plan = small.plan_import(club)
    clash = next(card.clash for card in plan.cards if card.id == "vault-kick-to-pile")
    assert clash is not None
    assert (clash.kind, clash.card) == ("same name", "vault-kick-to-pile")
    assert clash.pairs == (("title", "Kick to the pile", "Boot to the heap"), ("level", "3-4", "3"))
    assert states(plan) == {"vault-kick-to-pile": "clash", "vault-follow": "comes in"}

    plan = small.plan_import(club, take=("vault-kick-to-pile",))
    assert states(plan) == {"vault-kick-to-pile": "comes in renamed", "vault-follow": "comes in"}
    small.take_in(plan)
    cards = small.collection.cards
    assert (small.folder / "vault" / "vault-kick-to-pile.md").read_text("utf-8") == mine
    assert cards["vault-kick-to-pile-2"].title == "Boot to the heap"
    assert cards["vault-follow"].after == ("vault-kick-to-pile-2",)
    assert "# theirs" in (small.folder / "vault" / "vault-follow.md").read_text("utf-8")


def test_a_near_twin_is_shown_side_by_side(tmp_path: Path, small: Library) -> None:
    """The same steps under another name and title are told; the card comes in only when it is taken."""
    mine = (SMALL / "vault" / "vault-kick-to-pile.md").read_text("utf-8")
    club = folder(tmp_path / "club", {"vault-heap.md": mine.replace("Kick to the pile", "Over onto the heap")})
    (card,) = small.plan_import(club).cards
    assert card.state == "clash"
    assert card.clash is not None
    assert (card.clash.kind, card.clash.card) == ("near twin", "vault-kick-to-pile")
    assert [field for field, _, _ in card.clash.pairs] == ["title"]
    assert states(small.plan_import(club, take=("vault-heap",))) == {"vault-heap": "comes in"}


def test_cards_whose_links_lead_nowhere_stay_out_together(tmp_path: Path, small: Library) -> None:
    """A card that builds on one that stays out stays out as well, and so on up."""
    first = OTHER.replace("stage: low", "stage: lowe")
    second = OTHER.replace("Climb and fall like a tree", "Sway").replace("vault-timber-fall", "vault-first")
    third = GOOD.replace("vault-timber-fall", "vault-second")
    files = {"vault-first.md": first, "vault-second.md": second, "vault-third.md": third}
    plan = small.plan_import(folder(tmp_path / "club", files), take=("*",))
    assert states(plan) == dict.fromkeys(["vault-first", "vault-second", "vault-third"], "has problems")
    assert "vault-second" in str(plan.cards[2].problems[0])


def test_two_files_of_one_name(tmp_path: Path, small: Library) -> None:
    """The first comes in, the second is told."""
    files = {"a/vault-climb.md": CLIMB, "b/vault-climb.md": OTHER}
    plan = small.plan_import(folder(tmp_path / "club", files), take=("*",))
    assert [card.state for card in plan.cards] == ["comes in", "has problems"]
    assert "a/vault-climb.md" in str(plan.cards[1].problems[0])


ROW = {
    "Drill name": "Tape beam tip",
    "Apparatus": "Vault",
    "Levels": "3 to 4",
    "Leads to": "Handstand flat-back",
    "Fault": "Folds before she lands/The body goes soft",
    "Prerequisite": "vault-timber-fall",
    "Stage": "Low",
    "Kit": "panel mat, 2 crash mats",
    "Spotting": "watch",
    "Hands": "Hands off; keep the far end clear.",
    "Lands on": "back",
    "Wrists": "low",
    "Landings": "0",
    "Purpose": "Tips from a squat, so that the fall is short and the line has to be found while she moves backwards.",
    "Setup": "One panel mat, two crash mats behind it, tape across the front edge for the toes.",
    "Instructions": "1. Squat on the tape.\n2. Arms long, chin in.\n3. Tip back in one piece.",
    "Safety": "- One child at a time; the next waits behind the tape.\n- Stop when the chin comes up or she is afraid.",
}
HEAD = list(ROW)


def table(path: Path, rows: list[dict[str, str]]) -> Path:
    """Write a workbook with another library, or a CSV."""
    if path.suffix == ".xlsx":
        with xlsxwriter.Workbook(str(path)) as book:
            sheet = book.add_worksheet()
            for place, row in enumerate([HEAD, *([row[name] for name in HEAD] for row in rows)]):
                sheet.write_row(place, 0, row)
        return path
    with path.open("w", encoding="cp1252", newline="") as file:
        writer = csv.DictWriter(file, HEAD, delimiter=";")
        writer.writeheader()
        writer.writerows(rows)
    return path


@pytest.mark.parametrize("name", ["club.xlsx", "club.csv"])
def test_a_row_becomes_a_card(tmp_path: Path, small: Library, name: str) -> None:
    """With columns found by themselves; what is unwritten and harmless is filled, and `check` has nothing to say."""
    plan = small.plan_import(table(tmp_path / name, [ROW]))
    assert [column.column for column in plan.columns if not column.field] == []
    (card,) = plan.cards
    assert (card.state, card.id, card.source) == ("comes in", "vault-tape-beam-tip", f"{name}, row 2")
    small.take_in(plan)
    made = small.collection.cards["vault-tape-beam-tip"]
    assert (made.levels, made.skills, made.after) == ((3, 4), ("flat-back",), ("vault-timber-fall",))
    assert [(piece.item, piece.count) for piece in made.equipment] == [("panel-mat", 1), ("soft-mat", 2)]
    assert made.sections["Do"] == ROW["Instructions"]
    assert name in made.sources
    assert [str(problem) for problem in small.problems] == []


LEFT_OPEN = {
    "Stage": "stage",
    "Spotting": "spotting.grade",
    "Hands": "spotting.hands",
    "Lands on": "load.on",
    "Wrists": "load.wrists",
    "Safety": "Keep safe",
    "Fault": "corrects",
    "Instructions": "Do",
    "Levels": "level",
}


@pytest.mark.parametrize("column", LEFT_OPEN)
def test_what_bears_on_safety_is_never_filled(tmp_path: Path, small: Library, column: str) -> None:
    """A row that leaves it open stays out, and comes in when the coach says it for all rows."""
    path = table(tmp_path / "club.csv", [{**ROW, column: ""}])
    (card,) = small.plan_import(path).cards
    assert card.state == "has problems"
    assert LEFT_OPEN[column] in {problem.field for problem in card.problems}
    fixed = {LEFT_OPEN[column]: ROW[column]}
    assert [one.state for one in small.plan_import(path, fixed=fixed).cards] == ["comes in"]


def test_rows_that_stay_out_are_written_to_be_mended(tmp_path: Path, small: Library) -> None:
    """A folder with the cards and the reasons; mended there, they are imported from it."""
    plan = small.plan_import(table(tmp_path / "club.csv", [{**ROW, "Stage": "lowe"}, ROW]))
    assert small.write_rest(plan, tmp_path / "rest") == 1
    assert "stage: found 'lowe'" in (tmp_path / "rest" / "problems.txt").read_text("utf-8")
    mend = tmp_path / "rest" / "cards" / "vault-tape-beam-tip.md"
    mend.write_text(mend.read_text("utf-8").replace("stage: lowe", "stage: low"), "utf-8")
    assert states(small.plan_import(tmp_path / "rest")) == {"vault-tape-beam-tip": "comes in"}
    with pytest.raises(FileUnusable, match="not overwritten"):
        small.write_rest(plan, tmp_path / "rest")


def test_an_exported_table_comes_back_the_same(starter: Library, own: Path, tmp_path: Path) -> None:
    """Every bar drill of the starter library, out as CSV and in again after it was lost, is the same card."""
    library = open_library(own)
    library.export(tmp_path / "bars.csv", ["bars"])
    lost = {path: path.read_bytes() for path in (own / "bars").glob("*.md")}
    try:
        for path in lost:
            path.unlink()
        library.refresh()
        plan = library.plan_import(tmp_path / "bars.csv", take=("*",))
        assert set(states(plan).values()) == {"comes in"}
        library.take_in(plan)
        assert load_collection(own).cards == starter.collection.cards
    finally:
        library.undo_import()
        for path, content in lost.items():
            path.write_bytes(content)


@pytest.mark.parametrize(
    "name", ["../../../x/vault/evil", "a/vault/evil", "/abs/vault/evil", "..\\vault\\evil", "Evil One"]
)
def test_no_row_writes_outside(tmp_path: Path, small: Library, name: str) -> None:
    """Whatever stands in the column of names, the card lies in its event's folder under plain words."""
    path = tmp_path / "club.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["id", *HEAD], [name, *ROW.values()]])
    (card,) = small.plan_import(path).cards
    assert card.file.count("/") == 1
    assert card.file.startswith("vault/")
    assert small.take_in(small.plan_import(path)).files == (card.file,)
    with pytest.raises(UsageError, match="no name for a card"):
        small.draft({"title": "x", "event": "vault", "id": name})


def test_a_cell_too_many_is_told(tmp_path: Path, small: Library) -> None:
    """A mark between columns inside a text shifts the row: it does not come in, and says why."""
    path = table(tmp_path / "club.csv", [ROW])
    text = path.read_text("cp1252")
    path.write_text(text.replace("One panel mat, two", "One panel mat; two"), "cp1252")
    (card,) = small.plan_import(path).cards
    assert card.state == "has problems"
    assert "more cells than the table has columns" in str(card.problems)


def test_a_fault_in_her_words_is_searched(starter: Library, own: Path, tmp_path: Path) -> None:
    """A row that names no fault of the vocabulary is told which ones its words may mean."""
    del starter
    text = "Drill;Event;Fault\nStick push;bars;bends her arms in the cast\n"
    (tmp_path / "club.csv").write_text(text, "utf-8")
    (card,) = open_library(own).plan_import(tmp_path / "club.csv").cards
    assert any("bars-cast-bent-arms/" in problem.message and problem.warning for problem in card.problems)


def test_nothing_to_import_is_told(tmp_path: Path, small: Library) -> None:
    """A missing file, an empty folder, a table without titles."""
    with pytest.raises(FileUnusable, match="no such file"):
        small.plan_import(tmp_path / "nowhere.zip")
    (tmp_path / "empty").mkdir()
    with pytest.raises(FileUnusable, match="holds no cards"):
        small.plan_import(tmp_path / "empty")
    with zipfile.ZipFile(tmp_path / "empty.zip", "w"):
        pass
    with pytest.raises(FileUnusable, match="holds no cards"):
        small.plan_import(tmp_path / "empty.zip")
    (tmp_path / "a.csv").write_text("Colour,Size\nred,4\n", "utf-8")
    with pytest.raises(UsageError, match="COLUMN=title"):
        small.plan_import(tmp_path / "a.csv")


def test_fields_of_a_clash_are_those_of_the_cards(small: Library) -> None:
    """What stands side by side is what is exported."""
    card = small.collection.cards["vault-kick-to-pile"]
    assert card_fields(card)["equipment"] == "2 soft-mat; 1 panel-mat (or landing-mat)"

"""Exports are read back by programs that are not ours, and nothing that is there is overwritten."""

import json
import os
import zipfile
from pathlib import Path

import duckdb
import openpyxl
import pytest

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.facade import Library, open_library
from kb.keep.export import _guarded
from kb.keep.sheet import _cell
from kb.library import load_collection
from tests.fakes import BagEncoder
from tests.support import SMALL


def test_csv_as_another_library_reads_it(starter: Library, tmp_path: Path) -> None:
    """DuckDB's own CSV reader finds each card once, with its title and its steps to the letter."""
    path = tmp_path / "all.csv"
    assert starter.export(path).cards == len(starter.collection.cards)
    with duckdb.connect() as db:
        rows = db.execute(f"select id, title, \"Do\" from read_csv('{path}', header=true, all_varchar=true)").fetchall()  # noqa: S608
    cards = starter.collection.cards
    assert {name: (title, steps) for name, title, steps in rows} == {
        card.id: (card.title, card.sections["Do"]) for card in cards.values()
    }


def test_no_cell_is_a_formula(small: Library, tmp_path: Path) -> None:
    """What a spreadsheet would run or spoil is guarded, and import takes the guard off again."""
    small.export(tmp_path / "all.csv")
    text = (tmp_path / "all.csv").read_text("utf-8-sig")
    assert ",'- " in text or ",\"'- " in text
    for cell in ("=1+1", "- a bullet", "@x", "+1", "'=x", "''-x", "plain", "'plain", ""):
        assert not _guarded(cell).startswith(("=", "+", "-", "@"))
        assert _cell(_guarded(cell)) == cell
    assert openpyxl  # the reader whose formulas are meant


def test_json_and_zip(small: Library, tmp_path: Path) -> None:
    """JSON by the standard parser; the zip by the standard unpacker, and it is a library by itself."""
    small.export(tmp_path / "all.json")
    found = json.loads((tmp_path / "all.json").read_text("utf-8"))
    assert found["format"] == 1
    assert [card["id"] for card in found["cards"]] == list(small.collection.cards)
    small.export(tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as book:
        assert book.testzip() is None
        book.extractall(tmp_path / "unpacked")
    assert load_collection(tmp_path / "unpacked").cards == load_collection(SMALL).cards
    small.export(tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "all.zip").read_bytes()


def test_what_has_problems_is_left_out_and_told(small: Library, tmp_path: Path) -> None:
    """A card that `check` keeps out of answers is not handed on; one event can be asked for."""
    (small.folder / "vault" / "vault-bad.md").write_text("no card", "utf-8")
    small.refresh()
    done = small.export(tmp_path / "vault.json", ["vault"])
    assert (done.cards, done.left_out) == (5, ("vault/vault-bad.md",))


def test_wrong_exports(small: Library, tmp_path: Path) -> None:
    """Another ending, an unknown event, a file that is there, a folder that cannot be written."""
    with pytest.raises(UsageError, match="must end with"):
        small.export(tmp_path / "all.doc")
    with pytest.raises(UnknownName, match="vault"):
        small.export(tmp_path / "all.csv", ["valt"])
    (tmp_path / "all.csv").write_text("mine", "utf-8")
    with pytest.raises(FileUnusable, match="not overwritten"):
        small.export(tmp_path / "all.csv")
    assert (tmp_path / "all.csv").read_text("utf-8") == "mine"
    with pytest.raises(FileUnusable, match="cannot be written"):
        small.export(tmp_path / "all.csv" / "below.csv")


def test_a_copy_is_a_library_of_ones_own(small: Library, tmp_path: Path) -> None:
    """Same cards, no imports, ready to be written to; the index comes along."""
    assert small.index.card_ids
    small.copy_to(tmp_path / "mine")
    copy = open_library(tmp_path / "mine", encoder=BagEncoder(), say=pytest.fail)
    assert copy.collection.cards == small.collection.cards
    assert copy.index.card_ids == small.index.card_ids
    copy.may_write()


def test_a_copy_goes_only_into_a_new_folder(small: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not into one that holds something, nor into the library; a full disk leaves nothing behind."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "a").write_text("mine", "utf-8")
    with pytest.raises(UsageError, match="not empty"):
        small.copy_to(tmp_path / "full")
    with pytest.raises(UsageError, match="inside the library"):
        small.copy_to(small.folder / "copy")

    def full(*_args: object, **_kinds: object) -> None:
        raise OSError(28, "No space left on device")

    before = set(os.listdir(tmp_path))
    monkeypatch.setattr("kb.keep.export.shutil.copytree", full)
    with pytest.raises(FileUnusable, match="No space left"):
        small.copy_to(tmp_path / "new")
    assert set(os.listdir(tmp_path)) == before

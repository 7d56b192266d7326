"""Watching: an edit is seen once, in time, and the watcher says that it is there."""

from pathlib import Path

import pytest

import kb
from kb.keep.watch import changes, is_watched
from tests.support import small_library


def test_each_edit_is_told_once(tmp_path: Path) -> None:
    """Three looks, two different stamps: one change each; no change, no word."""
    stamps = iter(["a", "a", "b", "b", "c"])
    seen = changes(lambda: next(stamps), tmp_path, wait=lambda _: None)
    assert next(seen) == "b"
    assert is_watched(tmp_path)
    assert next(seen) == "c"
    seen.close()
    assert not is_watched(tmp_path)


def test_a_watched_library_answers_with_the_edit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After an edit the index has it, and only that card was read again."""
    folder = small_library(tmp_path)
    library = kb.open_library(folder)
    library.rebuild()
    card = sorted(folder.glob("vault/*.md"))[0]
    watching = library.watch()
    edited = False

    def edit(_: float) -> None:
        nonlocal edited
        if not edited:
            card.write_text(card.read_text("utf-8").replace("## Do\n", "## Do\nBlow a whistle first.\n", 1), "utf-8")
            edited = True

    monkeypatch.setattr("kb.keep.watch.time.sleep", edit)
    report = next(watching)
    assert report.texts_encoded < report.texts_reused
    assert "whistle" in library.card(card.stem).sections["Do"]

"""Building: only what changed is encoded, the swap loses nothing, and a stale index is noticed."""

import shutil
import sqlite3
from pathlib import Path

import numpy as np
import pytest

from kb.errors import IndexUnusable, LibraryUnusable
from kb.index import build, ensure
from kb.index.build import build_index
from kb.index.ensure import open_index
from kb.index.home import DATABASE, NEIGHBOURS, index_home
from kb.index.store import Index
from tests.fakes import BagEncoder
from tests.support import small_library


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Return a small library in a folder of its own."""
    return small_library(tmp_path)


def edit(path: Path, old: str, new: str) -> None:
    """Change a file and its time."""
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def a_card(library: Path) -> Path:
    """Return the file of one card."""
    return sorted(library.glob("*/*.md"))[0]


def test_only_the_edited_card_is_encoded_again(library: Path) -> None:
    """After one edit the second build encodes texts of that card alone."""
    encoder = BagEncoder()
    first = build_index(library, encoder)
    assert first.texts_encoded > 0
    edit(a_card(library), "## Set up\n", "## Set up\nTurn the mat round first. ")
    encoder.encoded.clear()
    second = build_index(library, encoder)
    assert second.encoded == (a_card(library).stem,)
    assert 0 < len(encoder.encoded) <= 2
    assert second.texts_reused == first.texts_encoded - len(encoder.encoded)


def test_reused_vectors_are_those_of_a_fresh_build(library: Path) -> None:
    """An index brought up to date equals one built from nothing."""
    build_index(library, BagEncoder())
    edit(a_card(library), "## Set up\n", "## Set up\nTurn the mat round first. ")
    build_index(library, BagEncoder())
    updated = Index(index_home(library)).vectors("passages")
    build_index(library, BagEncoder(), fresh=True)
    np.testing.assert_array_equal(updated, Index(index_home(library)).vectors("passages"))


def test_two_cards_with_the_same_text_both_have_passages(library: Path) -> None:
    """Vectors are shared by text, but every card keeps its own rows."""
    twin = a_card(library).with_name(a_card(library).stem + "-again.md")
    shutil.copy(a_card(library), twin)
    build_index(library, BagEncoder())
    owners = [card for card, _ in Index(index_home(library)).passages]
    assert owners.count(twin.stem) == owners.count(a_card(library).stem) > 0


@pytest.mark.parametrize("change", ["edited", "added", "removed", "vocabulary"])
def test_a_change_in_the_folder_is_noticed(library: Path, change: str) -> None:
    """`open_index` rebuilds by itself when the folder is not what was indexed, and says so in one line."""
    build_index(library, BagEncoder())
    card = a_card(library)
    if change == "edited":
        edit(card, "## Set up\n", "## Set up\nTurn the mat round first. ")
    elif change == "added":
        shutil.copy(card, card.with_name("vault-new.md"))
    elif change == "removed":
        card.unlink()
    else:
        skills = library / "vocabulary" / "skills.yaml"
        skills.write_text(skills.read_text("utf-8") + "\n# a note\n", "utf-8")
    said: list[str] = []
    open_index(library, BagEncoder(), said.append)
    assert len(said) == 1
    assert "changed" in said[0]
    said.clear()
    open_index(library, BagEncoder(), said.append)
    assert said == []


def test_another_encoder_rebuilds(library: Path) -> None:
    """Vectors of another encoder are never used; the reason is said."""
    build_index(library, BagEncoder("bag-1"))
    said: list[str] = []
    index = open_index(library, BagEncoder("bag-2"), said.append)
    assert "encoder" in said[0]
    assert index.meta["encoder"] == "bag-2"


def test_another_format_rebuilds(library: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An index of another format version is built again; the reason is said."""
    build_index(library, BagEncoder())
    monkeypatch.setattr(build, "FORMAT", 99)
    monkeypatch.setattr(ensure, "FORMAT", 99)
    assert "format" in (ensure.why_build(index_home(library), library, BagEncoder()) or "")


def test_damaged_database_is_built_again(library: Path) -> None:
    """A database that SQLite does not read is replaced."""
    build_index(library, BagEncoder())
    (index_home(library) / DATABASE).write_bytes(b"not a database" * 100)
    said: list[str] = []
    assert open_index(library, BagEncoder(), said.append).card_ids
    assert len(said) == 1


def test_neighbours_of_another_generation_are_not_used(library: Path) -> None:
    """When only the database was swapped, its own vectors serve."""
    build_index(library, BagEncoder())
    home = index_home(library)
    old = (home / NEIGHBOURS).read_bytes()
    edit(a_card(library), "## Set up\n", "## Set up\nTurn the mat round first. ")
    build_index(library, BagEncoder())
    (home / NEIGHBOURS).write_bytes(old)
    index = Index(home)
    vector = index.vectors("passages")[3]
    assert index.neighbours["passages"].nearest(vector, 1)[0][0] == 3


def test_a_reader_keeps_what_it_opened(library: Path) -> None:
    """A swap under an open index does not disturb it."""
    build_index(library, BagEncoder())
    open_before = Index(index_home(library))
    before = list(open_before.card_ids)
    a_card(library).unlink()
    build_index(library, BagEncoder())
    assert [open_before.card(name).id for name in before] == before
    assert len(Index(index_home(library)).card_ids) == len(before) - 1


def test_a_killed_build_loses_nothing(library: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error half-way leaves the old index as it was and no half-built file."""
    build_index(library, BagEncoder())
    home = index_home(library)
    before = {path.name: path.read_bytes() for path in home.iterdir()}
    edit(a_card(library), "## Set up\n", "## Set up\nTurn the mat round first. ")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(build, "write_neighbours", full)
    with pytest.raises(IndexUnusable, match="untouched"):
        build_index(library, BagEncoder())
    assert {path.name: path.read_bytes() for path in home.iterdir()} == before


def test_read_only_library_uses_the_cache_folder(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A library that cannot be written to gets its index in the user's cache folder."""
    cache = tmp_path / "cache"
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    (library / ".drillkb").write_text("in the way", "utf-8")  # root may write anywhere, so a file blocks the folder
    build_index(library, BagEncoder())
    assert list(cache.rglob(DATABASE))
    assert open_index(library, BagEncoder()).card_ids


def test_folder_without_vocabulary_is_no_library(tmp_path: Path) -> None:
    """The error names the folder."""
    with pytest.raises(LibraryUnusable, match=str(tmp_path)):
        open_index(tmp_path, BagEncoder())


def test_full_text_search_finds_a_card(library: Path) -> None:
    """The database can be searched by words with SQLite alone."""
    build_index(library, BagEncoder())
    with sqlite3.connect(index_home(library) / DATABASE) as db:
        rows = db.execute("select count(*) from card_text_fts where card_text_fts match 'mat'").fetchone()
    assert rows[0] > 0

"""Where the log lies: inside the library, or where the user can write, and found again when that changes."""

import os
from pathlib import Path

import pytest

import kb
from kb.library.files import starter_library
from kb.log.home import log_path
from tests.support import small_library


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder that stands for the user's data folder."""
    monkeypatch.delenv("DRILLKB_LOG")
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: tmp_path / "data")
    return tmp_path / "data"


def shut(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make every folder look as if it could not be written (tests may run as root, who can write anywhere)."""
    monkeypatch.setattr(os, "access", lambda *_: False)


def test_the_log_lies_inside_a_library_that_can_be_written(tmp_path: Path, data: Path) -> None:
    """It is there, and reading does not make it."""
    library = small_library(tmp_path)
    assert log_path(library) == library / ".drillkb-log" / "practice.jsonl"
    assert not (library / ".drillkb-log").exists()
    assert not data.exists()


def test_a_library_that_cannot_be_written_has_its_log_with_the_user(
    tmp_path: Path, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each in a folder of its own, and it is found there still when the library can be written later."""
    library = small_library(tmp_path)
    with monkeypatch.context() as patch:
        shut(patch)
        path, other = log_path(library), log_path(tmp_path)
    assert path.is_relative_to(data)
    assert other.is_relative_to(data)
    assert path != other
    path.parent.mkdir(parents=True)
    path.write_text("", "utf-8")
    assert log_path(library) == path


def test_a_log_inside_stays_the_log(tmp_path: Path, data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that can no longer be written keeps the log that it has."""
    library = small_library(tmp_path)
    path = log_path(library)
    path.parent.mkdir()
    path.write_text("", "utf-8")
    shut(monkeypatch)
    assert log_path(library) == path
    assert not data.exists()


def test_the_starter_librarys_log_survives_an_upgrade(data: Path) -> None:
    """It lies with the user, wherever the program is installed, and never inside the program."""
    assert log_path(starter_library()) == data / "log" / "starter" / "practice.jsonl"


def test_a_log_can_be_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """DRILLKB_LOG wins over all of it."""
    monkeypatch.setenv("DRILLKB_LOG", str(tmp_path / "club.jsonl"))
    assert log_path(starter_library()) == tmp_path / "club.jsonl"


def test_no_rebuild_touches_it(tmp_path: Path, data: Path) -> None:
    """The index is built anew from nothing; the log stands, and writing to it makes no index stale."""
    from tests.fakes import BagEncoder

    said: list[str] = []
    library = kb.open_library(small_library(tmp_path), encoder=BagEncoder(), say=said.append)
    library.log("vault-timber-fall", "helped", group="Slate")
    before = library.log_file.read_bytes()
    library.rebuild(fresh=True)
    assert library.log_file.read_bytes() == before
    said.clear()
    again = kb.open_library(library.folder, encoder=BagEncoder(), say=said.append)
    assert again.index.card_ids
    assert said == []
    assert not data.exists()

"""Nothing is lost: a full disk, a program killed at any step, names that are taken, two imports at once."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kb.errors import FileUnusable, LibraryUnusable, UsageError
from kb.keep import store
from kb.keep.store import one_writer, records, refuse_unless_own, take_back, take_in, write_new
from kb.library import load_collection
from kb.library.files import card_files, starter_library
from tests.support import FIXTURES, small_library

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")
SHAPES = GOOD.replace("event: vault", "event: shapes")
NEW = {"vault/vault-one.md": GOOD, "vault/vault-two.md": GOOD, "shapes/shapes-three.md": SHAPES}


def names(library: Path) -> set[str]:
    """Return the cards that a question would see."""
    return {path.stem for path in card_files(library)}


def contents(library: Path) -> dict[str, bytes]:
    """Return every file of a library outside the import folder."""
    files = (path for path in library.rglob("*") if path.is_file() and ".imports" not in path.parts)
    return {path.relative_to(library).as_posix(): path.read_bytes() for path in files}


def after(count: int, act: Callable[[], Any], patch: pytest.MonkeyPatch) -> None:
    """Let `act` happen in place of each later step once `count` steps of the file system have been done."""
    done = [0]

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def step(*args: Any, **kinds: Any) -> Any:
            done[0] += 1
            if done[0] > count:
                act()
            return real(*args, **kinds)

        return step

    patch.setattr(store, "_write", counted(store._write))
    patch.setattr(store, "link_in", counted(store.link_in))
    patch.setattr(Path, "replace", counted(Path.replace))
    patch.setattr(Path, "unlink", counted(Path.unlink))
    patch.setattr(shutil, "rmtree", counted(shutil.rmtree))


def killed(count: int, work: Callable[[], Any]) -> bool:
    """Do the work in another process that dies after some steps; say whether it died."""
    child = os.fork()
    if not child:
        try:
            after(count, lambda: os._exit(9), pytest.MonkeyPatch())
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


def test_an_import_killed_at_any_step_is_in_or_out(tmp_path: Path) -> None:
    """Wherever it dies, a reader sees the old cards or all new ones, and the next import works."""
    seen, count, died = set(), 0, True
    while died:
        library = small_library(tmp_path / str(count))
        old = names(library)
        died = killed(count, lambda library=library: take_in(library, "x.zip", NEW))  # type: ignore[misc]
        came = names(library) - old
        assert came in (set(), {"vault-one", "vault-two", "shapes-three"})
        seen.add(len(came))
        if not came:
            assert records_when_alone(library) == []
            assert names(library) == old
            assert take_in(library, "x.zip", NEW).number == "0001"
        take_back(library)
        assert names(library) == old
        count += 1
    assert count > 10
    assert seen == {0, 3}


def records_when_alone(library: Path) -> list[Any]:
    """Return the imports that are known once what was half done is cleared away."""
    with one_writer(library):
        return records(library)


def test_an_undo_killed_at_any_step_is_done_or_not(tmp_path: Path) -> None:
    """Wherever it dies, a reader sees all cards of the import or none, and undo works or has nothing left to do."""
    seen, count, died = set(), 0, True
    while died:
        library = small_library(tmp_path / str(count))
        old = contents(library)
        take_in(library, "x.zip", NEW)
        died = killed(count, lambda library=library: take_back(library))  # type: ignore[misc]
        seen.add(len(names(library)))
        if records_when_alone(library):
            take_back(library)
        assert contents(library) == old
        count += 1
    assert seen == {7, 10}


def test_a_disk_that_fills_leaves_the_old_state(tmp_path: Path) -> None:
    """Whichever write fails, the library is byte for byte as it was and says so."""
    for count in range(6):
        library = small_library(tmp_path / str(count))
        old = contents(library)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "fsync", _full_after(count))
            if count == 5:  # three cards, the list of what is moving, the record: then the disk is large enough
                assert len(take_in(library, "x.zip", NEW).files) == 3
                continue
            with pytest.raises(FileUnusable, match="No space left"):
                take_in(library, "x.zip", NEW)
        assert contents(library) == old
        assert records(library) == []


def _full_after(count: int) -> Callable[[int], None]:
    left = [count]

    def fsync(_file: int) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise OSError(28, "No space left on device")

    return fsync


def test_one_file_on_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new card is whole or not there, and nothing is left beside it."""
    monkeypatch.setattr(os, "fsync", _full_after(0))
    with pytest.raises(FileUnusable, match="No space left"):
        write_new(tmp_path / "a.md", b"text")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_nothing_is_overwritten(tmp_path: Path, links: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not by a new card nor by an import, on any file system."""
    if not links:
        monkeypatch.setattr(os, "link", _no_links)
    write_new(tmp_path / "a.md", b"one")
    with pytest.raises(FileUnusable, match="not overwritten"):
        write_new(tmp_path / "a.md", b"two")
    assert (tmp_path / "a.md").read_bytes() == b"one"
    library = small_library(tmp_path)
    (library / "vault" / "vault-two.md").write_text("mine", "utf-8")
    with pytest.raises(FileUnusable, match="nothing was imported"):
        take_in(library, "x.zip", NEW)
    assert (library / "vault" / "vault-two.md").read_text("utf-8") == "mine"
    assert not (library / "vault" / "vault-one.md").exists()


def _no_links(*_args: Any) -> None:
    raise OSError(95, "Operation not supported")


def test_imports_are_taken_back_one_after_another(tmp_path: Path) -> None:
    """The last first, each whole; a card that was edited since stays and is told."""
    library = small_library(tmp_path)
    old = contents(library)
    take_in(library, "one.zip", dict(list(NEW.items())[:2]))
    take_in(library, "two.zip", dict(list(NEW.items())[2:]))
    record, removed, kept = take_back(library)
    assert (record.source, removed, kept) == ("two.zip", ("shapes/shapes-three.md",), ())
    (library / "vault" / "vault-one.md").write_text(GOOD + "\nMine.\n", "utf-8")
    record, removed, kept = take_back(library)
    assert (record.source, removed, kept) == ("one.zip", ("vault/vault-two.md",), ("vault/vault-one.md",))
    assert {name for name in contents(library) if name not in old} == {"vault/vault-one.md"}
    with pytest.raises(UsageError, match="no import"):
        take_back(library)


def test_two_imports_at_once(tmp_path: Path) -> None:
    """The second is told to wait."""
    library = small_library(tmp_path)
    with one_writer(library), pytest.raises(UsageError, match="Another import"):
        take_in(library, "x.zip", NEW)


def test_the_starter_library_is_not_written_to(tmp_path: Path) -> None:
    """It says how to get a copy; a folder that is missing is told as well."""
    with pytest.raises(LibraryUnusable, match="drillkb club"):
        refuse_unless_own(starter_library())
    with pytest.raises(LibraryUnusable, match="not a folder"):
        refuse_unless_own(tmp_path / "nowhere")
    refuse_unless_own(small_library(tmp_path))


def test_import_folders_are_no_cards(tmp_path: Path) -> None:
    """What is staged and recorded is not read as cards, and a damaged list of moving cards hides nothing."""
    library = small_library(tmp_path)
    take_in(library, "x.zip", NEW)
    (library / ".imports" / "moving").write_bytes(b"\xff\xfe")
    assert len(load_collection(library).cards) == 10

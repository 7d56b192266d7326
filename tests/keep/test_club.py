"""A club's copy of the starter: upgraded, and nothing that the club wrote is touched."""

from pathlib import Path

import pytest

import kb
from kb.errors import UsageError
from kb.keep.club import Change, make_club, upgrade
from kb.keep.writing import write_whole
from tests.support import SMALL, small_library

CARDS = sorted(path.relative_to(SMALL).as_posix() for path in SMALL.glob("*/*.md") if path.parent.name != "vocabulary")


@pytest.fixture
def club(tmp_path: Path) -> tuple[Path, Path]:
    """Return a club's copy and the starter that it was made from."""
    starter = small_library(tmp_path)
    folder = tmp_path / "club"
    make_club(folder, starter)
    return folder, starter


def fates(changes: list[Change]) -> dict[str, str]:
    """Return file to what becomes of it."""
    return {change.file: change.fate for change in changes}


def test_a_copy_answers_as_the_starter(club: tuple[Path, Path]) -> None:
    """Same cards, same faults, nothing wrong."""
    folder, starter = club
    ours, theirs = kb.open_library(folder), kb.open_library(starter)
    assert ours.collection.cards.keys() == theirs.collection.cards.keys()
    assert ours.vocabulary.faults == theirs.vocabulary.faults
    assert not ours.problems
    assert upgrade(folder, starter) == []


def test_an_upgrade(club: tuple[Path, Path]) -> None:
    """Untouched files follow the starter; the club's stay, with the change shown; none goes."""
    folder, starter = club
    untouched, ours, gone, own = CARDS[0], CARDS[1], CARDS[2], "vault/vault-our-own.md"
    for home in (starter,):
        for name in (untouched, ours):
            (home / name).write_text((home / name).read_text("utf-8").replace("## Do", "## Do\n0. New step."), "utf-8")
    (folder / ours).write_text((folder / ours).read_text("utf-8").replace("## Say", '## Say\n- "Ours."'), "utf-8")
    mine = (folder / ours).read_bytes()
    (folder / own).write_bytes((folder / untouched).read_bytes())
    (starter / "vault" / "vault-fresh.md").write_bytes((starter / untouched).read_bytes())
    (starter / gone).unlink()

    looked = upgrade(folder, starter, write=False)
    assert fates(looked) == {
        untouched: "renewed",
        ours: "yours stays",
        gone: "gone from the starter",
        "vault/vault-fresh.md": "new",
    }
    assert not (folder / "vault" / "vault-fresh.md").exists()

    changes = upgrade(folder, starter)
    assert fates(changes) == fates(looked)
    assert (folder / untouched).read_bytes() == (starter / untouched).read_bytes()
    assert (folder / ours).read_bytes() == mine
    assert (folder / own).exists()
    assert (folder / gone).exists()
    difference = next(change.difference for change in changes if change.file == ours)
    assert "+0. New step." in difference
    assert "Ours" not in difference
    assert upgrade(folder, starter) == []


def test_killed_half_way_and_begun_again(club: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """An upgrade that stops after some files goes on where it was, and the club's change is still told."""
    folder, starter = club
    for name in CARDS[:4]:
        (starter / name).write_text(
            (starter / name).read_text("utf-8").replace("## Do", "## Do\n0. New step."), "utf-8"
        )
    (folder / CARDS[3]).write_text("ours\n", "utf-8")
    real = write_whole
    done: list[Path] = []

    def dies(path: Path, text: str) -> None:
        if len(done) == 3:
            raise KeyboardInterrupt
        done.append(path)
        real(path, text)

    monkeypatch.setattr("kb.keep.club.write_whole", dies)
    with pytest.raises(KeyboardInterrupt):
        upgrade(folder, starter)
    monkeypatch.setattr("kb.keep.club.write_whole", real)
    upgrade(folder, starter)
    for name in CARDS[:3]:
        assert (folder / name).read_bytes() == (starter / name).read_bytes()
    assert (folder / CARDS[3]).read_text("utf-8") == "ours\n"


def test_folders_that_are_none(tmp_path: Path) -> None:
    """A folder with files in it is not written into; one that is no club's copy is not upgraded."""
    (tmp_path / "a.txt").write_text("x", "utf-8")
    with pytest.raises(UsageError, match="not empty"):
        make_club(tmp_path)
    with pytest.raises(UsageError, match="was not made by"):
        upgrade(tmp_path)

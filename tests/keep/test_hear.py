"""A club's own words: they work at once, can be taken back, and never lead from an injury to a drill."""

from pathlib import Path

import pytest

import kb
from kb.errors import FileUnusable, UnknownName, UsageError
from kb.facade import Library
from kb.keep.said import add_said, undo_said
from tests.support import small_library

WORDS = "lands like a sack of potatoes"
FAULT = "vault-folds-on-landing"


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Return a small library that may be written."""
    return kb.open_library(small_library(tmp_path))


def test_her_words_work_at_once(library: Library) -> None:
    """The fault comes first for them afterwards, in this library and in one opened anew."""
    heard = library.hear(f"she {WORDS}", FAULT)
    assert heard.after == 1
    assert heard.before != 1
    for one in (library, kb.open_library(library.folder)):
        assert one.ask(f"she {WORDS}").faults[0].id == FAULT
    assert not library.problems


def test_what_was_heard_can_be_taken_back(library: Library) -> None:
    """After --undo the answer is the old one, and the file has no line left of it."""
    before = library.ask(f"she {WORDS}")
    library.hear(f"she {WORDS}", FAULT)
    assert library.unhear() == (FAULT, f"she {WORDS}")
    after = library.ask(f"she {WORDS}")
    assert (after.verdict, after.faults) == (before.verdict, before.faults)
    with pytest.raises(UsageError, match="nothing to take back"):
        library.unhear()


def test_only_lines_of_hear_are_taken_back(library: Library) -> None:
    """What a club wrote into the file by hand stays."""
    path = library.folder / "vocabulary" / "club" / "said" / "vault.tsv"
    path.parent.mkdir(parents=True)
    path.write_text(f"fault\tvoice\tauthor\ttext\n{FAULT}\thead-coach\t7\tjack-knifes at the end\n", "utf-8")
    library.hear(f"she {WORDS}", FAULT)
    library.unhear()
    assert path.read_text("utf-8").count("\n") == 2
    with pytest.raises(UsageError):
        undo_said(library.folder)


@pytest.mark.parametrize(
    ("words", "fault", "error", "says"),
    [
        (WORDS, "vault-folds", UnknownName, "vault-folds-on-landing"),
        ("flops", FAULT, UsageError, "two words or more"),
        ("x " * 400, FAULT, UsageError, "at most 300"),
    ],
)
def test_what_cannot_be_heard(library: Library, words: str, fault: str, error: type[Exception], says: str) -> None:
    """Unknown faults, single words and essays are refused with the remedy."""
    with pytest.raises(error, match=says):
        library.hear(words, fault)
    assert not (library.folder / "vocabulary" / "club").exists()


def test_the_same_words_twice_or_for_two_faults(library: Library) -> None:
    """A second meaning for the same words is refused until the first is taken back."""
    library.hear(WORDS, FAULT)
    with pytest.raises(UsageError, match="already heard"):
        library.hear(WORDS, FAULT)
    other = next(name for name, fault in library.vocabulary.faults.items() if name != FAULT and fault.event == "vault")
    with pytest.raises(UsageError, match=f"already heard as {FAULT}"):
        library.hear(WORDS.upper(), other)


def test_an_injury_is_never_a_fault(starter: Library) -> None:
    """Words that read as a stop sign are refused."""
    with pytest.raises(UsageError, match="stop-and-refer sign"):
        starter.hear("she landed on her head and feels dizzy", "vault-pike-before-landing")


def test_a_full_disk_loses_nothing(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the new file cannot be written the old one stands, and no half file is left."""
    path = add_said(library.folder, "vault", FAULT, WORDS)
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kb.keep.writing.os.fsync", full)
    with pytest.raises(FileUnusable, match=r"No space left.*nothing was changed"):
        add_said(library.folder, "vault", FAULT, "folds up like a deck chair")
    assert path.read_bytes() == before
    assert [one.name for one in path.parent.iterdir()] == [path.name]

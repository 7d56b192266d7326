"""Loading a folder: good cards are read, bad ones are told, and no file of a coach ever stops the others."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import LibraryUnusable
from kb.library import Collection, load_collection
from kb.library.load import LARGEST_CARD
from tests.support import FIXTURES, SMALL, small_library

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")
NAMES = [
    "shapes-book-hollow",
    "shapes-plank-shuffle",
    "vault-board-pop",
    "vault-kick-to-pile",
    "vault-lift-to-pile",
    "vault-stiff-hops",
    "vault-timber-fall",
]


def said(found: Collection) -> list[str]:
    """Return the problems as a coach sees them."""
    return [str(problem) for problem in found.problems]


def with_bytes(library: Path, content: bytes, file: str = "vault/new.md") -> Collection:
    """Write one file into a library and read the library."""
    (library / file).parent.mkdir(exist_ok=True)
    (library / file).write_bytes(content)
    return load_collection(library)


def test_the_small_library_has_nothing_wrong() -> None:
    """All cards are read, ordered by event and id."""
    found = load_collection(SMALL)
    assert said(found) == []
    assert list(found.cards) == NAMES
    assert found.folder == SMALL


def test_a_card_is_read_whole() -> None:
    """Front matter, file and sections arrive as they were written."""
    card = load_collection(SMALL).cards["vault-lift-to-pile"]
    assert (card.title, card.file) == ("Lift to the pile with a partner coach", "vault/vault-lift-to-pile.md")
    assert (card.level, card.levels, card.fits_level(4), card.fits_level(5)) == ("3-4", (3, 4), True, False)
    assert (card.spotting.grade, card.spotting.spotters) == ("hands-on", 1)
    assert [(piece.item, piece.count) for piece in card.equipment] == [("soft-mat", 3), ("block", 1)]
    assert card.sections["Say"] == '- "Squeeze for me."\n- "Now fall."'
    assert (card.cap, card.no_spot_twin, card.size) == (None, "vault-kick-to-pile", ())


def test_all_problems_of_all_bad_cards_are_told_at_once(tmp_path: Path) -> None:
    """Every broken fixture in one library: each file is reported, and the good cards are all there."""
    library = small_library(tmp_path)
    broken = [path for path in (FIXTURES / "cards").glob("*.md") if path.name != "good.md"]
    for path in broken:
        shutil.copy(path, library / "vault")
    found = load_collection(library)
    assert {problem.file for problem in found.problems} >= {f"vault/{path.name}" for path in broken}
    assert set(found.cards) >= set(NAMES)
    assert list(found.problems) == sorted(found.problems)


@pytest.mark.parametrize("start", ["", "\ufeff"], ids=["plain", "BOM"])
@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_lines_are_those_of_the_editor(start: str, break_: str, tmp_path: Path) -> None:
    """Line endings and a byte order mark move no problem to another line."""
    text = GOOD.replace("count: 2", "count: 0").replace("cause: afraid-of-back", "cause: 7").replace("## Easier\n", "")
    found = with_bytes(small_library(tmp_path), (start + text.replace("\n", break_)).encode())
    assert [(problem.line, problem.field) for problem in found.problems] == [
        (8, "corrects[1].cause"),
        (15, "equipment[1].count"),
        (21, "Easier"),
    ]


@pytest.mark.parametrize("start", ["", "\ufeff"], ids=["plain", "BOM"])
@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_a_card_from_any_editor_is_the_same_card(start: str, break_: str, tmp_path: Path) -> None:
    """Line endings and a byte order mark do not change what is read."""
    library = small_library(tmp_path)
    plain = with_bytes(library, GOOD.encode()).cards["new"]
    found = with_bytes(library, (start + GOOD.replace("\n", break_)).encode())
    assert said(found) == []
    assert found.cards["new"] == plain


UNREADABLE = {
    "Latin-1": (GOOD.replace("Walk", "Gänge").encode("latin-1"), "is not UTF-8 text"),
    "UTF-16": (GOOD.encode("utf-16"), "is not UTF-8 text"),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\xff", "is not UTF-8 text"),
    "too long": ((GOOD + "x" * LARGEST_CARD).encode(), "is larger than"),
    "empty": (b"", "first line of a card"),
    "zeros": (b"\0" * 50, "first line of a card"),
    "long number": (GOOD.replace("minutes: 6", "minutes: " + "9" * 5000).encode(), "needs a whole number from 1 to 30"),
    "deep": (b"---\nfigure: " + b"[" * 20_000 + b"\n---\n", "is not valid YAML"),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_file_that_is_no_card_is_told_and_left_out(name: str, tmp_path: Path) -> None:
    """Whatever lies there as a card is one problem with a remedy."""
    content, message = UNREADABLE[name]
    found = with_bytes(small_library(tmp_path), content)
    assert len(found.problems) == 1
    assert said(found)[0].startswith("vault/new.md")
    assert message in said(found)[0]
    assert list(found.cards) == NAMES


def test_folders_and_dead_links_called_like_cards_are_told(tmp_path: Path) -> None:
    """A folder and a link to nothing cannot be read as cards and are told as such."""
    library = small_library(tmp_path)
    (library / "vault" / "folder.md").mkdir()
    (library / "vault" / "link.md").symlink_to(library / "nowhere")
    assert [text.split(" (")[0] for text in said(load_collection(library))] == [
        "vault/folder.md: cannot be read",
        "vault/link.md: cannot be read",
    ]


@pytest.mark.parametrize("file", ["Tall Fall.md", "tall_fall.md", "Fall.md", "-.md", ".md", "ä.md", "a" * 81 + ".md"])
def test_a_file_name_that_is_no_id_is_told(file: str, tmp_path: Path) -> None:
    """A card whose file name cannot be named in 'after' is told how to be called."""
    found = with_bytes(small_library(tmp_path), GOOD.encode(), f"vault/{file}")
    assert len(found.problems) == 1
    assert "lower-case words joined by hyphens" in said(found)[0]
    assert list(found.cards) == NAMES


def test_two_cards_of_one_name_do_not_hide_each_other(tmp_path: Path) -> None:
    """The second file of a name is told, and the first stays."""
    found = with_bytes(small_library(tmp_path), GOOD.encode(), "vault/shapes-book-hollow.md")
    assert said(found) == [
        "vault/shapes-book-hollow.md: has the same file name as shapes/shapes-book-hollow.md; "
        "the name is the card's id, so rename one of the two"
    ]
    assert found.cards["shapes-book-hollow"].event == "shapes"


@pytest.mark.parametrize("file", ["README.md", "vault/README.md", "vault/MAP.md", "vault/notes.txt", ".trash/old.md"])
def test_other_files_are_no_cards(file: str, tmp_path: Path) -> None:
    """Notes beside the cards are left alone."""
    assert said(with_bytes(small_library(tmp_path), b"Notes.", file)) == []


def test_a_folder_that_is_no_library_is_refused(tmp_path: Path) -> None:
    """A missing folder, a file and a folder without vocabulary are refused with what to do."""
    (tmp_path / "file").write_text("x", "utf-8")
    for path, says in (("none", "--library DIR"), ("file", "--library DIR"), (".", "no vocabulary/events.yaml")):
        with pytest.raises(LibraryUnusable, match=says):
            load_collection(tmp_path / path)


def family(kind: type[Exception]) -> Iterator[type[Exception]]:
    """Yield an error class and all that come from it."""
    yield kind
    for child in kind.__subclasses__():
        yield from family(child)


def made(kind: type[Exception]) -> Exception:
    """Make an error of a class, whatever it wants to be made of."""
    if issubclass(kind, OSError):
        return kind(5, "bad")
    if kind is UnicodeDecodeError:
        return UnicodeDecodeError("utf-8", b"\xff", 0, 1, "bad")
    return kind("name", 3, 7, "utf-8", "bad") if issubclass(kind, yaml.reader.ReaderError) else kind()


YAML_ERRORS = sorted({*family(yaml.YAMLError), RecursionError, ValueError}, key=lambda kind: kind.__name__)
READ_ERRORS = [OSError, PermissionError, FileNotFoundError, IsADirectoryError, NotADirectoryError, TimeoutError,
               InterruptedError, BlockingIOError, UnicodeDecodeError]  # fmt: skip


@pytest.mark.parametrize("kind", YAML_ERRORS)
def test_no_error_of_pyyaml_reaches_a_coach(kind: type[Exception], monkeypatch: pytest.MonkeyPatch) -> None:
    """Each error class of PyYAML becomes a problem of every file that is read with it."""

    def compose(*_: Any, **__: Any) -> None:
        raise made(kind)

    monkeypatch.setattr(yaml, "compose", compose)
    found = load_collection(SMALL)
    files = {path.relative_to(SMALL).as_posix() for path in SMALL.rglob("*.*") if path.is_file()}
    assert {problem.file for problem in found.problems} == files
    assert all("is not valid YAML" in problem.message for problem in found.problems)


@pytest.mark.parametrize("kind", READ_ERRORS)
def test_no_error_of_reading_reaches_a_coach(kind: type[Exception], monkeypatch: pytest.MonkeyPatch) -> None:
    """Each way in which a file cannot be read becomes a problem of that file."""

    def read_text(*_: Any, **__: Any) -> str:
        raise made(kind)

    monkeypatch.setattr(Path, "read_text", read_text)
    found = load_collection(SMALL)
    assert len(found.problems) == len([path for path in SMALL.rglob("*.*") if path.is_file()])
    assert found.cards == {}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return one library for many examples, each of which writes the same file."""
    return small_library(tmp_path_factory.mktemp("shelf"))


def told_or_loaded(library: Path, content: bytes) -> None:
    """A card file is either shown or has a problem, and the other cards stay."""
    found = with_bytes(library, content)
    assert ("new" in found.cards) != any(p.keeps_out and p.file == "vault/new.md" for p in found.problems)
    assert set(NAMES) <= set(found.cards)
    assert all("\n" not in str(problem) for problem in found.problems)


TEXT = st.text(alphabet=st.characters(codec="utf-8"), max_size=80)
LINES = GOOD.split("\n")


@settings(deadline=None, max_examples=150)
@given(
    content=st.one_of(TEXT.map(str.encode), st.binary(max_size=80), TEXT.map(lambda t: f"---\n{t}\n---\n{t}".encode()))
)
def test_any_file_is_told_or_loaded(shelf: Path, content: bytes) -> None:
    """Whatever lies in the place of a card never raises."""
    told_or_loaded(shelf, content)


@settings(deadline=None, max_examples=300)
@given(place=st.integers(0, len(LINES) - 1), start=st.integers(0, 40), end=st.integers(0, 40), text=TEXT)
def test_a_good_card_with_any_slip_of_the_hand_is_told_or_loaded(
    shelf: Path, place: int, start: int, end: int, text: str
) -> None:
    """Replacing any piece of any line by anything never raises."""
    line = LINES[place][:start] + text + LINES[place][start + end :]
    told_or_loaded(shelf, "\n".join([*LINES[:place], line, *LINES[place + 1 :]]).encode())


VALUES = st.recursive(
    st.sampled_from(["1", "-1", "x", "~", "true", "2.5", "''", "low", "vault", "3-4", "[]", "{}", "1e999", "9" * 30]),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda v: f"[{', '.join(v)}]")
        | st.dictionaries(st.sampled_from(["item", "fault", "cause", "weight", "x"]), inner, max_size=3).map(
            lambda v: "{" + ", ".join(f"{key}: {value}" for key, value in v.items()) + "}"
        )
    ),
    max_leaves=6,
)


@settings(deadline=None, max_examples=200)
@given(field=st.sampled_from([line.split(":")[0] for line in LINES[1:20] if line[:1].isalpha()]), value=VALUES)
def test_any_value_in_any_field_is_told_or_loaded(shelf: Path, field: str, value: str) -> None:
    """Putting any plain value into any field of the good card never raises."""
    front = yaml.safe_load(GOOD.split("---\n")[1])
    kept = yaml.safe_dump({name: part for name, part in front.items() if name != field})
    told_or_loaded(shelf, f"---\n{field}: {value}\n{kept}---\n{GOOD.split('---' + chr(10))[2]}".encode())

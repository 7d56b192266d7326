"""Zips and folders of somebody else's: nothing leads outside, nothing explodes, what is no card is left aside."""

import io
import struct
import zipfile
from pathlib import Path

import pytest

from kb.errors import FileUnusable
from kb.facade import Library
from kb.keep import archive
from kb.keep.archive import read_cards
from kb.library.load import LARGEST_CARD
from tests.support import FIXTURES

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")


def zipped(path: Path, files: dict[str, bytes], kind: int = zipfile.ZIP_DEFLATED) -> Path:
    """Write a zip."""
    with zipfile.ZipFile(path, "w", kind) as book:
        for name, content in files.items():
            book.writestr(zipfile.ZipInfo(name), content, kind)
    return path


OUTSIDE = [
    "../evil.md",
    "vault/../../evil.md",
    "/etc/evil.md",
    "C:/evil.md",
    "..\\evil.md",
    "C:\\evil.md",
    "a/..\\..\\b.md",
]


@pytest.mark.parametrize("name", OUTSIDE)
def test_a_zip_that_leads_outside_is_refused_whole(tmp_path: Path, name: str) -> None:
    """Nothing of it is used, and nothing is written anywhere."""
    path = zipped(tmp_path / "club.zip", {"vault/good.md": GOOD.encode(), name: GOOD.encode()})
    before = sorted(tmp_path.parent.rglob("*"))
    with pytest.raises(FileUnusable, match="leads outside"):
        read_cards(path)
    assert sorted(tmp_path.parent.rglob("*")) == before


def test_a_link_in_a_zip_is_refused(tmp_path: Path) -> None:
    """A link could show a file of this machine as a card."""
    link = zipfile.ZipInfo("vault/link.md")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(tmp_path / "club.zip", "w") as book:
        book.writestr(link, "/etc/passwd")
    with pytest.raises(FileUnusable, match="is a link"):
        read_cards(tmp_path / "club.zip")


def test_bombs_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Too much in one entry, in all, or too many entries; told without unpacking any of it."""
    bomb = zipped(tmp_path / "bomb.zip", {"vault/bomb.md": b"0" * 30_000_000})
    assert bomb.stat().st_size < 100_000
    with pytest.raises(FileUnusable, match="far more than it should"):
        read_cards(bomb)
    monkeypatch.setattr(archive, "LARGEST_IN_ALL", 1000)
    with pytest.raises(FileUnusable, match="unpacks to more"):
        archive.safe_zip(zipped(tmp_path / "much.zip", {f"{n}.md": b"x" * 500 for n in range(3)}), 1000)
    monkeypatch.setattr(archive, "MOST_FILES", 10)
    with pytest.raises(FileUnusable, match="holds 11 files"):
        read_cards(zipped(tmp_path / "many.zip", {f"{n}.txt": b"" for n in range(11)}))


def test_a_zip_that_lies_about_sizes_unpacks_no_more_than_a_card(tmp_path: Path) -> None:
    """An entry that says it is small is read to the limit of a card at most."""
    path = zipped(tmp_path / "liar.zip", {"vault/liar.md": b"0" * 50_000_000})
    content = path.read_bytes()
    path.write_bytes(content.replace(struct.pack("<L", 50_000_000), struct.pack("<L", 900)))
    try:
        found, notes = read_cards(path)
    except FileUnusable as error:
        assert "damaged" in str(error)  # noqa: PT017 - either way is right; what counts is that little is unpacked
    else:
        assert found == []
        assert "left aside" in notes[0]


UNREADABLE = {
    "not a zip": (b"hello", "no zip file"),
    "cut off": (None, "no zip file"),
    "twice": ("twice", "twice"),
    "locked": ("locked", "password"),
    "damaged": ("damaged", "damaged"),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_zip_that_cannot_be_read_is_told(tmp_path: Path, name: str) -> None:
    """One sentence, and nothing of it is used."""
    kind, says = UNREADABLE[name]
    path = zipped(tmp_path / "club.zip", {"vault/good.md": GOOD.encode()}, zipfile.ZIP_STORED)
    whole = path.read_bytes()
    if kind is None:
        path.write_bytes(whole[: len(whole) // 2])
    elif isinstance(kind, bytes):
        path.write_bytes(kind)
    elif kind == "twice":
        with zipfile.ZipFile(path, "a") as book, pytest.warns(UserWarning, match="Duplicate"):
            book.writestr("vault/good.md", "other")
    elif kind == "locked":
        place = whole.rindex(b"PK\x01\x02") + 8
        path.write_bytes(whole[:place] + b"\x01" + whole[place + 1 :])
    else:
        path.write_bytes(whole.replace(b"Walk the wall", b"Xalk the wall", 1))
    with pytest.raises(FileUnusable, match=says):
        read_cards(path)


def test_a_folder_is_read_without_following_links(tmp_path: Path) -> None:
    """Links to files and folders outside are left aside and counted, hidden folders are passed over."""
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "secret.md").write_text(GOOD, "utf-8")
    folder = tmp_path / "club"
    (folder / "vault").mkdir(parents=True)
    (folder / ".git").mkdir()
    (folder / ".git" / "hidden.md").write_text(GOOD, "utf-8")
    (folder / "vault" / "good.md").write_text(GOOD, "utf-8")
    (folder / "vault" / "link.md").symlink_to(secret / "secret.md")
    (folder / "linked").symlink_to(secret)
    found, notes = read_cards(folder)
    assert [name for name, _ in found] == ["vault/good.md"]
    assert notes == ["2 links were left aside."]


def test_what_is_no_card_is_left_aside(tmp_path: Path) -> None:
    """Vocabulary, notes, pictures and what is no UTF-8 text are told and not read as cards."""
    files = {
        "larkmoor/vault/good.md": GOOD.encode(),
        "larkmoor/vocabulary/faults/notes.md": b"x",
        "larkmoor/README.md": b"x",
        "larkmoor/logo.png": b"\x89PNG",
        "__MACOSX/vault/._good.md": b"x",
        "larkmoor/vault/latin.md": "Gänge".encode("latin-1"),
        "larkmoor/vault/long.md": b"x" * (LARGEST_CARD + 1),
    }
    found, notes = read_cards(zipped(tmp_path / "club.zip", files))
    assert [name for name, _ in found] == ["larkmoor/vault/good.md"]
    assert notes[0].startswith("4 other files")
    assert "latin.md" in notes[1]
    assert "long.md" in notes[1]


def test_an_import_of_a_bad_zip_changes_nothing(tmp_path: Path, small: Library) -> None:
    """The library is byte for byte as it was."""
    before = {path: path.read_bytes() for path in small.folder.rglob("*") if path.is_file()}
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as book:
        book.writestr("vault/good.md", GOOD)
        book.writestr("../vault/evil.md", GOOD)
    (tmp_path / "club.zip").write_bytes(buffer.getvalue())
    with pytest.raises(FileUnusable, match="leads outside"):
        small.plan_import(tmp_path / "club.zip")
    assert {path: path.read_bytes() for path in small.folder.rglob("*") if path.is_file()} == before

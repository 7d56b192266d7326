"""Card files out of a zip or a folder of somebody else's, read with limits and never unpacked to where it says."""

import os
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from kb.errors import FileUnusable
from kb.library.files import FOLDER, NOT_CARDS
from kb.library.load import LARGEST_CARD

MOST_FILES = 20_000
"""Entries of a zip or a folder; a library of 1,000 cards has about 1,100."""
LARGEST_IN_ALL = 50_000_000
"""Bytes of all card files together, unpacked."""
LARGEST_RATIO = 200
"""Unpacked to packed size of one entry above which it is taken for a bomb; text packs to about a third."""
LARGEST_SHEET = 200_000_000
"""Bytes of all parts of a spreadsheet, unpacked; 5,000 rows of drills have about 20 million."""

Found = tuple[str, str]
"""Path as it was given, and the text."""


def read_cards(path: Path) -> tuple[list[Found], list[str]]:
    """Return the card files of a zip or a folder with their text, and a note for what was left aside.

    Raises FileUnusable for a zip with paths that lead outside, links, a password or more than the limits allow:
    nothing of it is used then.
    """
    if path.is_dir():
        return _from_folder(path)
    return _from_zip(path)


def safe_zip(path: Path, most_bytes: int = LARGEST_IN_ALL) -> zipfile.ZipFile:
    """Open a zip whose entries have been looked at. Raises FileUnusable."""
    try:
        opened = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise FileUnusable(path, 0, f"is no zip file that can be read ({error}).") from None
    try:
        _refuse_unsafe(path, opened.infolist(), most_bytes)
    except FileUnusable:
        opened.close()
        raise
    return opened


def _refuse_unsafe(path: Path, entries: list[zipfile.ZipInfo], most_bytes: int) -> None:
    if len(entries) > MOST_FILES:
        raise FileUnusable(path, 0, f"holds {len(entries)} files; at most {MOST_FILES} are read.")
    for entry in entries:
        name = entry.filename.replace("\\", "/")
        if name.startswith("/") or re.match(r"[A-Za-z]:", name) or ".." in PurePosixPath(name).parts:
            raise FileUnusable(path, 0, f"holds '{entry.filename[:80]}', which leads outside; nothing of it is used.")
        if stat.S_ISLNK(entry.external_attr >> 16):
            raise FileUnusable(path, 0, f"holds '{entry.filename[:80]}', which is a link; nothing of it is used.")
        if entry.flag_bits & 1:
            raise FileUnusable(path, 0, "is locked with a password; ask for one without.")
        if entry.file_size > 1_000_000 and entry.file_size > LARGEST_RATIO * max(1, entry.compress_size):
            raise FileUnusable(path, 0, f"holds '{entry.filename[:80]}', which unpacks to far more than it should.")
    if sum(entry.file_size for entry in entries) > most_bytes:
        raise FileUnusable(
            path, 0, f"unpacks to more than {most_bytes // 1_000_000} million bytes; that is no library."
        )


def _from_zip(path: Path) -> tuple[list[Found], list[str]]:
    with safe_zip(path) as opened:
        entries = [entry for entry in opened.infolist() if not entry.is_dir()]
        names = [entry.filename.replace("\\", "/") for entry in entries]
        if len(set(names)) != len(names):
            double = next(name for name in names if names.count(name) > 1)
            raise FileUnusable(path, 0, f"holds '{double[:80]}' twice; nothing of it is used.")
        found = [
            (name, _text(_unpacked(path, opened, entry)))
            for name, entry in zip(names, entries, strict=True)
            if is_card(name)
        ]
        return _readable(found, sum(not is_card(name) for name in names))


def _unpacked(path: Path, opened: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """Return an entry, at most one byte more than a card may have, whatever its size is said to be."""
    try:
        with opened.open(entry) as file:
            return file.read(LARGEST_CARD + 1)
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError) as error:
        raise FileUnusable(
            path, 0, f"is damaged at '{entry.filename[:80]}' ({error}); nothing of it is used."
        ) from None


def _from_folder(path: Path) -> tuple[list[Found], list[str]]:
    found: list[tuple[str, str | None]] = []
    others = links = size = 0
    for number, file in enumerate(_walk(path)):
        if number >= MOST_FILES:
            raise FileUnusable(path, 0, f"holds more than {MOST_FILES} files; name the folder with the cards.")
        name = file.relative_to(path).as_posix()
        if file.is_symlink():
            links += 1
        elif not is_card(name):
            others += 1
        else:
            try:
                with file.open("rb") as opened:
                    content = opened.read(LARGEST_CARD + 1)
            except OSError as error:
                raise FileUnusable(file, 0, f"cannot be read ({error.strerror}).") from None
            size += len(content)
            if size > LARGEST_IN_ALL:
                raise FileUnusable(path, 0, f"holds more than {LARGEST_IN_ALL // 1_000_000} million bytes of cards.")
            found.append((name, _text(content)))
    good, notes = _readable(found, others)
    return good, notes + ([f"{links} links were left aside."] if links else [])


def _walk(path: Path) -> Iterator[Path]:
    for folder, folders, files in os.walk(path, followlinks=False):
        links = [name for name in folders if (Path(folder) / name).is_symlink()]
        folders[:] = sorted(name for name in folders if not name.startswith(".") and name not in links)
        yield from (Path(folder) / name for name in sorted([*files, *links]))


def is_card(name: str) -> bool:
    """Say whether a path looks like a drill's: Markdown, not hidden, not in the vocabulary."""
    parts = PurePosixPath(name).parts
    hidden = any(part.startswith((".", "__MACOSX")) for part in parts)
    return name.lower().endswith(".md") and not hidden and FOLDER not in parts and parts[-1] not in NOT_CARDS


def _readable(found: list[tuple[str, str | None]], others: int) -> tuple[list[Found], list[str]]:
    notes = [f"{others} other files were left aside: only cards are imported."] if others else []
    bad = [name for name, text in found if text is None]
    if bad:
        notes.append(f"{', '.join(bad[:5])}: not UTF-8 text of at most {LARGEST_CARD} bytes; left aside.")
    return [(name, text) for name, text in found if text is not None], notes


def _text(content: bytes) -> str | None:
    try:
        return content.decode("utf-8-sig") if len(content) <= LARGEST_CARD else None
    except UnicodeDecodeError:
        return None

"""Write into a library so that a full disk, a killed program or a second writer leaves the old state standing.

One file is written beside its place and linked in under its name, which fails when the name is taken. Several files
come in together: `.imports/moving` lists them while they are moved, and what it lists is not part of the library
(kb/library/files.py), so that its removal, one step of the file system, brings all of them in or takes all of them out.
"""

import hashlib
import os
import re
import shutil
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import msgspec
from msgspec import Struct

from kb.errors import FileUnusable, LibraryUnusable, UsageError
from kb.library.files import IMPORTS, MOVING, starter_library

RECORD = "record.json"
PLACE = re.compile(r"[a-z0-9-]+/[a-z0-9-]+\.md")
"""Where a card lies inside a library."""
NOTHING = hashlib.sha256(b"").hexdigest()
"""Digest of an empty file: a name that was taken, on a file system without links, before its text came."""


class Entry(Struct, frozen=True):
    """One file that came in with an import."""

    file: str
    sha256: str


class Record(Struct, frozen=True):
    """One import, kept so that it can be taken back."""

    number: str
    source: str
    files: tuple[Entry, ...]


def refuse_unless_own(library: Path) -> None:
    """Raise LibraryUnusable for the starter library, which upgrades replace, or a folder that cannot be written."""
    copy = "Make your own with 'drillkb club DIR', then name it: 'drillkb --library DIR ...'."
    if not library.is_dir():
        raise LibraryUnusable(library, "is not a folder. Name a drill library with --library DIR.")
    if library.resolve() == starter_library().resolve():
        raise LibraryUnusable(library, f"is the starter library, which is not written to. {copy}")
    if not os.access(library, os.W_OK):
        raise LibraryUnusable(library, f"cannot be written to. {copy}")


def write_new(path: Path, content: bytes) -> None:
    """Write a file that is not there yet, whole or not at all. Raises FileUnusable, and never overwrites."""
    beside = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}")
    try:
        if path.exists():
            raise FileUnusable(path, 0, "is there already and is not overwritten; choose another name.")
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            _write(beside, content)
            link_in(beside, path)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror or error}); nothing was changed.") from None


def link_in(beside: Path, path: Path) -> None:
    """Give a finished file its name. Raises FileExistsError when the name is taken."""
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        with path.open("xb"):
            pass
        beside.replace(path)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _replace(path: Path, content: bytes) -> None:
    beside = path.with_name(f"{path.name}.{uuid.uuid4().hex[:8]}")
    try:
        _write(beside, content)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


@contextmanager
def one_writer(library: Path) -> Iterator[Path]:
    """Hold the library's import folder alone, after finishing what a killed import left half done."""
    home = library / IMPORTS
    try:
        home.mkdir(exist_ok=True)
        lock = (home / "lock").open("w")
    except OSError as error:
        raise FileUnusable(home, 0, f"cannot be written ({error.strerror}); nothing was changed.") from None
    with lock:
        try:
            import fcntl  # not on Windows, where two imports at once are told by the names that are taken

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except ImportError:
            pass
        except OSError:
            raise UsageError("Another import into this library is running; try again when it is done.") from None
        recover(library)
        yield home


def recover(library: Path) -> None:
    """Bring a library that a killed import or undo left behind to its old state, or to the undone one."""
    home = library / IMPORTS
    moving = home / MOVING
    if moving.is_file():
        number, entries = _read_moving(moving)
        for entry in entries:
            if digest(library / entry.file) in (entry.sha256, NOTHING):
                (library / entry.file).unlink()
        if number.isdecimal():
            shutil.rmtree(home / number, ignore_errors=True)
        moving.unlink()
    for folder in home.iterdir():
        if folder.is_dir() and not (folder / RECORD).is_file():  # staged and never moved
            shutil.rmtree(folder, ignore_errors=True)
        elif folder.is_dir():
            shutil.rmtree(folder / "cards", ignore_errors=True)


def take_in(library: Path, source: str, files: Mapping[str, str]) -> Record:
    """Bring new card files into a library, all of them or none.

    Args:
        library: the library's folder.
        source: what they came from, for the record.
        files: path inside the library to text.

    Raises FileUnusable when one of the names is taken or the disk is full; the library is then as it was.
    """
    if strange := [file for file in files if not PLACE.fullmatch(file)]:  # nothing above lets one through
        raise FileUnusable(strange[0], 0, "is no place for a card; nothing was imported.")
    with one_writer(library) as home:
        number = f"{max([0, *(int(n.name) for n in home.iterdir() if n.name.isdecimal())]) + 1:04d}"
        entries = tuple(Entry(file, hashlib.sha256(text.encode()).hexdigest()) for file, text in files.items())
        for file in files:
            if (library / file).exists():
                raise FileUnusable(library / file, 0, "is there already and is not overwritten; nothing was imported.")
        record = Record(number, source, entries)
        try:
            _stage(home / number, files)
            _replace(home / MOVING, _moving(number, entries))
            _replace(home / number / RECORD, msgspec.json.encode(record))
            for file in files:
                (library / file).parent.mkdir(exist_ok=True)
                link_in(home / number / "cards" / file, library / file)
            (home / MOVING).unlink()
        except OSError as error:
            recover(library)
            reason = f"cannot be written ({error.strerror or error}); the library is as it was."
            raise FileUnusable(error.filename or library, 0, reason) from None
        shutil.rmtree(home / number / "cards", ignore_errors=True)
    return record


def _stage(folder: Path, files: Mapping[str, str]) -> None:
    for file, text in files.items():
        path = folder / "cards" / file
        path.parent.mkdir(parents=True, exist_ok=True)
        _write(path, text.encode())


def records(library: Path) -> list[Record]:
    """Return the imports that can be taken back, the oldest first."""
    found = sorted((library / IMPORTS).glob(f"*/{RECORD}"))
    return [msgspec.json.decode(path.read_bytes(), type=Record) for path in found]


def take_back(library: Path) -> tuple[Record, tuple[str, ...], tuple[str, ...]]:
    """Take the last import out again: its record, the files removed, and those kept because they were edited since.

    Raises UsageError when there is none.
    """
    with one_writer(library) as home:
        try:
            known = records(library)
        except (OSError, msgspec.DecodeError) as error:
            raise FileUnusable(home, 0, f"has a record that cannot be read ({error}); nothing was changed.") from None
        if not known:
            raise UsageError("There is no import to take back.")
        record = known[-1]
        kept = tuple(e.file for e in record.files if digest(library / e.file) not in ("", e.sha256))
        gone = tuple(entry for entry in record.files if digest(library / entry.file) == entry.sha256)
        try:
            _replace(home / MOVING, _moving(record.number, gone))
            recover(library)
        except OSError as error:
            raise FileUnusable(home, 0, f"cannot be written ({error.strerror}); try again.") from None
    return record, tuple(entry.file for entry in gone), kept


def digest(path: Path) -> str:
    """Return the SHA-256 of a file, empty when it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def _moving(number: str, entries: Sequence[Entry]) -> bytes:
    return "\n".join([number, *(f"{entry.sha256} {entry.file}" for entry in entries)]).encode()


def _read_moving(path: Path) -> tuple[str, list[Entry]]:
    number, *lines = path.read_text("utf-8").split("\n")
    return number, [Entry(line[65:], line[:64]) for line in lines if line]

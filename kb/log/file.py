"""The log's file: one JSON object a line, the first of them a header; written at the end, and never half.

- A write that fails (a full disk) leaves the bytes that were there.
- A write that is cut off leaves half a line at the end: readers pass over it, the next writer puts it aside.
- Writers wait for one another; readers need no lock.
- A file of a later version of the program is read as far as it can be and never written.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import asdict, replace

from kb.errors import FileUnusable, UsageError
from kb.log.home import VARIABLE
from kb.log.lock import locked
from kb.model.log import LogEntry

FORMAT = 1
"""Changes when an older program could no longer read a line rightly."""
_BOM = b"\xef\xbb\xbf"


class Header(msgspec.Struct, frozen=True):
    """The first line."""

    format: int
    what: str = "drillkb practice log"


class LogFile(msgspec.Struct, frozen=True):
    """What a log's file holds."""

    entries: tuple[LogEntry, ...] = ()
    """In the order in which they were written."""
    problems: tuple[str, ...] = ()
    """Lines that were passed over, in words."""
    format: int = FORMAT


def read_log(path: Path) -> LogFile:
    """Read a log; an empty one when there is no file. Raises FileUnusable for what is no practice log."""
    try:
        return _parsed(path.read_bytes(), path)
    except (FileNotFoundError, NotADirectoryError):
        return LogFile()
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be read ({error.strerror}).") from None


def append(path: Path, entry: LogEntry) -> tuple[LogEntry, str | None]:
    """Write an entry at the end; return it with its number, and what had to be mended first, in words.

    Raises FileUnusable, with the file as it was, when it cannot be written or is of a later version.
    """
    with _writing(path):
        log = _own_format(path)
        mended = _mend(path)
        entry = replace(entry, number=max((one.number for one in log.entries), default=0) + 1)
        empty = not path.exists() or path.stat().st_size == 0
        _write_end(path, (_line(Header(FORMAT)) if empty else b"") + _line(entry))
    return entry, mended


def take_back(path: Path) -> tuple[LogEntry, str | None]:
    """Remove the entry written last, for good; return it, and what had to be mended first, in words.

    The rest is written beside the file and swapped in, so that the file is never half. Raises FileUnusable, with
    the file as it was, and UsageError when there is no entry.
    """
    if not path.exists():
        raise UsageError("The practice log is empty; there is nothing to take back.")
    with _writing(path):
        log = _own_format(path)
        if not log.entries:
            raise UsageError("The practice log is empty; there is nothing to take back.")
        mended = _mend(path)
        lines = path.read_bytes().splitlines(keepends=True)
        last = max(place for place, line in enumerate(lines) if _entry(line))
        beside = path.with_name(f"{path.name}.new")
        try:
            _write_new(beside, b"".join(lines[:last] + lines[last + 1 :]), path)
            beside.replace(path)
        except OSError:
            with suppress(OSError):
                beside.unlink(missing_ok=True)
            raise
        _sync_folder(path.parent)
    return log.entries[-1], mended


def _parsed(data: bytes, path: Path) -> LogFile:
    data = data.removeprefix(_BOM)
    whole, _, tail = data.rpartition(b"\n")
    lines = whole.split(b"\n") if whole else []
    if tail and (_entry(tail) or _header(tail)):  # all but its line end was written
        lines.append(tail)
    if not lines and _first_write(tail):
        return LogFile()
    header = _header(lines[0]) if lines else None
    if header is None:
        reason = f"is no practice log (its first line has no format); move it away, or name another with {VARIABLE}."
        raise FileUnusable(path, 1, reason)
    entries, problems = [], []
    for number, line in enumerate(lines[1:], start=2):
        entry = _entry(line)
        if entry:
            entries.append(entry)
        elif line.strip():
            problems.append(f"{path}:{number}: is no entry and is passed over; mend the line or delete it.")
    if header.format > FORMAT:
        problems.insert(0, f"{path}: {_newer(header.format)} What this one understands is used.")
    return LogFile(tuple(entries), tuple(problems), header.format)


def _first_write(data: bytes) -> bool:
    """Say whether these bytes are nothing, or a first write that was cut off (or zeros after a power cut)."""
    return _line(Header(FORMAT)).startswith(data) or not data.strip(b"\0")


def _newer(found: int) -> str:
    return f"was written by a later version of drillkb (format {found}; this one writes {FORMAT})."


def _own_format(path: Path) -> LogFile:
    """Read the file before a write to it, which a later version's file does not get."""
    log = read_log(path)
    if log.format > FORMAT:
        raise FileUnusable(path, 1, f"{_newer(log.format)} It is left as it is; upgrade drillkb to write to it.")
    return log


def _entry(line: bytes) -> LogEntry | None:
    try:
        return msgspec.json.decode(line, type=LogEntry)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None


def _header(line: bytes) -> Header | None:
    try:
        return msgspec.json.decode(line, type=Header)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None


def _line(value: Header | LogEntry) -> bytes:
    said: dict[str, Any] = {name: part for name, part in asdict(value).items() if part is not None}
    return msgspec.json.encode(said) + b"\n"


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    """Hold the lock and put errors of the operating system into words."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with locked(path):
            yield
    except OSError as error:
        reason = f"cannot be written ({error.strerror}); it is as it was. Make room, or name a file with {VARIABLE}."
        raise FileUnusable(path, 0, reason) from None


def _mend(path: Path) -> str | None:
    """Give the last line its end, or put half a line aside; say so. Only under the lock."""
    if not path.exists():
        return None
    data = path.read_bytes()
    tail = data.rpartition(b"\n")[2]
    if not tail:
        return None
    if _entry(tail) or _header(tail.removeprefix(_BOM)):
        _write_end(path, b"\n")
        return None
    aside = path.with_name(f"{path.name}.torn")
    _write_end(aside, tail + b"\n")
    with path.open("rb+") as file:
        file.truncate(len(data) - len(tail))
        os.fsync(file.fileno())
    return f"{path} ended in half a line: a write was cut off. It is kept in {aside.name}; nothing else is lost."


def _write_end(path: Path, data: bytes) -> None:
    """Write at the end and wait until it is on the disk; on an error the file is as it was."""
    new = not path.exists()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o666)
    try:
        size = os.fstat(handle).st_size
        try:
            _write_all(handle, data)
        except OSError:
            with suppress(OSError):
                os.ftruncate(handle, size)
                if new:
                    path.unlink()
            raise
    finally:
        os.close(handle)
    if new:
        _sync_folder(path.parent)


def _write_new(path: Path, data: bytes, like: Path) -> None:
    """Write a new file with the permissions of another and wait until it is on the disk."""
    mode = like.stat().st_mode & 0o777
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), mode)
    try:
        _write_all(handle, data)
    finally:
        os.close(handle)
    path.chmod(mode)


def _write_all(handle: int, data: bytes) -> None:
    while data:  # the system may take a part: the first part of what fits on a full disk
        data = data[os.write(handle, data) :]
    os.fsync(handle)


def _sync_folder(folder: Path) -> None:
    """Wait until the folder's list of files is on the disk, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

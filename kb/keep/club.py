"""A club's own copy of the starter library, and its upgrade: what the club wrote is never touched.

The folder remembers the starter that it was made from, file by file (`.starter/`). On an upgrade a file that the club
has not changed becomes the new starter's; one that it has changed stays, and what the starter changed is shown as a
difference; new files are added; files that the starter no longer has stay and are told.
"""

import difflib
import shutil
from pathlib import Path
from typing import Literal

from msgspec import Struct

from kb.errors import FileUnusable, UsageError
from kb.index.home import DATABASE, NEIGHBOURS
from kb.keep.writing import write_whole
from kb.library.files import FOLDER, starter_library

BASE = ".starter"
"""Folder with the starter's files as they were when the club copied or last upgraded them."""
COPIED = ("*.md", "*.yaml", "*.tsv")
Fate = Literal["new", "renewed", "yours stays", "gone from the starter", "same change"]


class Change(Struct, frozen=True):
    """What an upgrade does with one file."""

    file: str
    fate: Fate
    difference: str = ""
    """What the starter changed, line by line, where the club's file stays."""


def make_club(folder: Path, starter: Path | None = None) -> int:
    """Copy the starter library into a new, empty folder; return the number of files. Raises UsageError."""
    source = starter or starter_library()
    if folder.exists() and any(folder.iterdir()):
        raise UsageError(f"{folder} is not empty; name a new folder, or upgrade it with --upgrade.")
    try:
        for name in _files(source):
            for home in (folder, folder / BASE):
                target = home / name
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source / name, target)
        home, source_home = folder / ".drillkb", source / ".drillkb"
        for name in (DATABASE, NEIGHBOURS):  # the vectors of its texts need not be worked out again
            if (source_home / name).is_file():
                home.mkdir(exist_ok=True)
                shutil.copyfile(source_home / name, home / name)
        for part in ("trained", "kits", "demo"):
            if (source / part).is_dir():
                shutil.copytree(source / part, folder / part, dirs_exist_ok=True)
    except OSError as error:
        raise FileUnusable(folder, 0, f"cannot be written ({error.strerror}).") from None
    return len(_files(source))


def upgrade(folder: Path, starter: Path | None = None, *, write: bool = True) -> list[Change]:
    """Bring a club's copy up to the starter of this program; return what changes, and with `write` do it.

    Raises UsageError for a folder that was not made by `drillkb club`.
    """
    source = starter or starter_library()
    if not (folder / BASE).is_dir():
        raise UsageError(f"{folder} was not made by 'drillkb club'; it has no {BASE} folder to compare with.")
    changes = [
        change for name in sorted({*_files(source), *_files(folder / BASE)}) if (change := _fate(folder, source, name))
    ]
    if write:
        for change in changes:
            if change.fate in ("new", "renewed"):
                write_whole(folder / change.file, _text(source / change.file) or "")
            new = _text(source / change.file)
            if new is not None:
                write_whole(folder / BASE / change.file, new)
            else:
                (folder / BASE / change.file).unlink(missing_ok=True)
    return changes


def _fate(folder: Path, source: Path, name: str) -> Change | None:
    """Return what becomes of one file, None when there is nothing to do."""
    before, now, yours = _text(folder / BASE / name), _text(source / name), _text(folder / name)
    if before == now:
        return None
    if now is None:
        return Change(name, "gone from the starter")
    if yours == now:
        return Change(name, "same change")
    if before is None:
        return Change(name, "new") if yours is None else Change(name, "yours stays", _difference(yours, now, name))
    if yours == before:
        return Change(name, "renewed")
    return Change(name, "yours stays", _difference(before, now, name))


def _difference(before: str, now: str, name: str) -> str:
    lines = difflib.unified_diff(
        before.splitlines(), now.splitlines(), f"{name}, before", f"{name}, now", lineterm="", n=1
    )
    return "\n".join(lines)


def _text(path: Path) -> str | None:
    return path.read_text("utf-8") if path.is_file() else None


def _files(folder: Path) -> list[str]:
    """Return the cards and vocabulary of a library, without what a club has added to the vocabulary."""
    found = [path for pattern in COPIED for path in folder.glob(f"*/**/{pattern}")]
    names = sorted({path.relative_to(folder).as_posix() for path in found})
    skipped = (f"{FOLDER}/club/", ".", "kits/", "demo/", "trained/")
    return [name for name in names if not name.startswith(skipped)]

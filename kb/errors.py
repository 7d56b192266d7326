"""Every error that drillkb raises on purpose, each of which prints as one sentence that says what to do.

DrillkbError                     exit 3
├── UsageError                   exit 2: the words of the call are off
│   ├── UnknownName              a name that the library does not have, with the nearest good ones
│   ├── OutOfRange               a number outside what the program can answer for
│   └── PersonNamed              a text for the practice log looks as if it names a person
├── LibraryUnusable              exit 3: the folder is missing or is no library
├── FileUnusable                 exit 3: one file cannot be read
├── IndexUnusable                exit 3: the index cannot be read or written
├── SheetUnprintable             exit 3: the typesetter refuses a sheet
└── EncoderUnusable              exit 3: the encoder's files are missing or not what their manifest says
"""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path


class DrillkbError(Exception):
    """The root: anything that a caller may want to show to a coach as it is."""

    exit_code = 3


class UsageError(DrillkbError):
    """The caller asked in a way that cannot be answered."""

    exit_code = 2


class UnknownName(UsageError):
    """One or more names that the vocabulary does not have.

    Attributes:
        kind: what was named, in the singular ("event", "piece of kit").
        near: every bad name with the nearest good ones, best first.
    """

    def __init__(self, kind: str, names: Iterable[str], known: Iterable[str]) -> None:
        good = sorted(known)
        self.kind = kind
        self.near: Mapping[str, list[str]] = {name: nearest(name, good) for name in names}
        few = len(good) <= 12
        parts = [_unknown_part(name, near, good if few else []) for name, near in self.near.items()]
        super().__init__(f"No {kind} is called {'; and none '.join(parts)}.")


class OutOfRange(UsageError):
    """A number that the program refuses to answer for, with the range that it accepts."""

    def __init__(self, what: str, found: object, allowed: str) -> None:
        self.what, self.found, self.allowed = what, found, allowed
        super().__init__(f"{what} is {found}; it must be {allowed}.")


class PersonNamed(UsageError):
    """A text for the practice log that looks as if it names a person; it is written only when the coach is sure."""

    def __init__(self, where: str, words: str, remedy: str) -> None:
        self.where, self.words, self.remedy = where, words, remedy
        super().__init__(f"The {where} looks as if it names a person ('{words}'); {remedy}")


class LibraryUnusable(DrillkbError):
    """A folder that is not a drill library."""

    def __init__(self, folder: Path, reason: str) -> None:
        self.folder, self.reason = folder, reason
        super().__init__(f"{folder}: {reason}")


class FileUnusable(DrillkbError):
    """One file that cannot be read, with the line where it went wrong (0 when there is none)."""

    def __init__(self, file: Path | str, line: int, reason: str) -> None:
        self.file, self.line, self.reason = str(file), line, reason
        super().__init__(f"{file}:{line}: {reason}" if line else f"{file}: {reason}")


class IndexUnusable(DrillkbError):
    """An index that cannot be read or written."""

    def __init__(self, path: Path | str, reason: str) -> None:
        self.path, self.reason = str(path), reason
        super().__init__(f"The index at {path} cannot be used: {reason}")


class EncoderUnusable(DrillkbError):
    """Encoder files that are missing, damaged or not the ones their manifest describes."""

    def __init__(self, path: Path | str, reason: str) -> None:
        self.path, self.reason = str(path), reason
        super().__init__(f"The encoder at {path} cannot be used: {reason}")


class SheetUnprintable(DrillkbError):
    """A sheet that the typesetter refuses."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(f"The sheet cannot be set as PDF ({reason}); write it as .html and print that.")


def nearest(name: str, known: Iterable[str], count: int = 3) -> list[str]:
    """Return up to `count` of the known names that look most like `name`, best first."""
    return get_close_matches(name.lower(), list(known), n=count, cutoff=0.55)


def _unknown_part(name: str, near: list[str], all_good: list[str]) -> str:
    if near:
        return f"'{name}' (nearest: {', '.join(near)})"
    return f"'{name}' (there are: {', '.join(all_good)})" if all_good else f"'{name}'"

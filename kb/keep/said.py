"""A club's own ways of saying a fault: added to `vocabulary/club/said/<event>.tsv` and taken back."""

from pathlib import Path

from kb.errors import UsageError
from kb.keep.writing import only_one, write_whole
from kb.library.files import FOLDER
from kb.library.said import CLUB, COLUMNS, LONGEST

VOICE, AUTHOR = CLUB, 0
"""Voice and author under which a line is written by `drillkb hear`."""


def add_said(library: Path, event: str, fault: str, words: str) -> Path:
    """Add a way of saying a fault and return the file. Raises UsageError for words that are no such way."""
    text = " ".join(words.split())
    if len(text.split()) < 2 or len(text) > LONGEST:
        raise UsageError(f"Found {len(text.split())} words; say it in two words or more, at most {LONGEST} letters.")
    path = library / FOLDER / "club" / "said" / f"{event}.tsv"
    with only_one(path):
        lines = _lines(path)
        row = f"{fault}\t{VOICE}\t{AUTHOR}\t{text}"
        twins = [line for line in lines[1:] if line.split("\t")[-1].lower() == text.lower()]
        if row in lines:
            raise UsageError(f"'{text}' is already heard as {fault}.")
        if twins:
            raise UsageError(
                f"'{text}' is already heard as {twins[0].split(chr(9))[0]}; take that back first (--undo)."
            )
        write_whole(path, "\n".join([*lines, row]) + "\n")
    return path


def undo_said(library: Path) -> tuple[str, str]:
    """Take the last line that `drillkb hear` wrote away; return its fault and words. Raises UsageError without one."""
    files = sorted((library / FOLDER / "club" / "said").glob("*.tsv"), key=lambda path: path.stat().st_mtime_ns)
    for path in reversed(files):
        with only_one(path):
            lines = _lines(path)
            places = [n for n, line in enumerate(lines) if line.split("\t")[1:3] == [VOICE, str(AUTHOR)]]
            if places:
                fault, _, _, text = lines.pop(places[-1]).split("\t")
                write_whole(path, "\n".join(lines) + "\n")
                return fault, text
    raise UsageError("There is nothing to take back: drillkb hear has written no words into this library.")


def _lines(path: Path) -> list[str]:
    if not path.is_file():
        return ["\t".join(COLUMNS)]
    return [line for line in path.read_text("utf-8-sig").splitlines() if line.strip()] or ["\t".join(COLUMNS)]

"""Lists of ways that faults are said: `vocabulary/said/<event>.tsv`, and the club's own in `vocabulary/club/said`."""

from collections.abc import Container, Iterator
from pathlib import Path

from kb.library.files import FOLDER
from kb.model import Problem, Said

CLUB = "club"
"""Voice of what a club has taught with `drillkb hear`: it is found at once, and spelt as it is meant."""
COLUMNS = ("fault", "voice", "author", "text")
LONGEST = 300
"""Characters of one way of saying a fault."""

SaidOf = dict[str, tuple[Said, ...]]


def read_said(library: Path, faults: Container[str]) -> tuple[SaidOf, list[Problem]]:
    """Return the ways each fault is said, the starter's before the club's, and a problem for every line left out."""
    found: dict[str, list[Said]] = {}
    problems: list[Problem] = []
    for folder in ("said", "club/said"):
        for path in sorted((library / FOLDER / folder).glob("*.tsv")):
            for item in _lines(path, path.relative_to(library).as_posix(), faults):
                if isinstance(item, Problem):
                    problems.append(item)
                else:
                    found.setdefault(item.fault, []).append(item)
    return {fault: tuple(said) for fault, said in found.items()}, problems


def _lines(path: Path, file: str, faults: Container[str]) -> Iterator[Said | Problem]:
    try:
        lines = path.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        yield Problem(file, 0, "", f"cannot be read as UTF-8 text ({error.__class__.__name__}); save it as UTF-8")
        return
    if not lines or tuple(lines[0].split("\t")) != COLUMNS:
        yield Problem(file, 1, "", f"the first line must name the columns: {', '.join(COLUMNS)}, with tabs between")
        return
    for number, line in enumerate(lines[1:], start=2):
        if line.strip():
            yield _said(line.split("\t"), file, number, faults)


def _said(fields: list[str], file: str, line: int, faults: Container[str]) -> Said | Problem:
    if len(fields) != len(COLUMNS):
        return Problem(file, line, "", f"found {len(fields)} columns, must be {len(COLUMNS)}: {', '.join(COLUMNS)}")
    fault, voice, author, text = (field.strip() for field in fields)
    if fault not in faults:
        return Problem(file, line, "fault", f"found '{fault}', which is no fault of the vocabulary")
    if not author.isdecimal():
        return Problem(file, line, "author", f"found '{author}', must be a number")
    if not text or len(text) > LONGEST:
        return Problem(file, line, "text", f"found {len(text)} characters, must be 1 to {LONGEST}")
    return Said(fault, voice, int(author), text)

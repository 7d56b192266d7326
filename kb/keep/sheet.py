"""A table in which each row is a drill: CSV in any usual encoding, or XLSX; which column holds which field."""

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.keep.archive import LARGEST_SHEET, safe_zip
from kb.keep.fields import all_fields
from kb.model import SECTIONS
from kb.model.keep import Column

MOST_ROWS = 5_000
"""Rows that are taken at one time, about half a minute of checking; a file with more is seldom a list of drills."""
MOST_COLUMNS = 200
LARGEST_CELL = 20_000
"""Characters; a whole card has about 3,000."""
LARGEST_CSV = 100_000_000
"""Bytes."""
ALIKE = 85
"""Likeness of two headings (rapidfuzz ratio, 0 to 100) from which one is proposed for the other."""
ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")
TRIED = (("utf-8-sig", "UTF-8"), ("cp1252", "Windows (cp1252)"), ("latin-1", "Latin-1"))


class Sheet(Struct, frozen=True):
    """A table as text."""

    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    """Row number as the spreadsheet shows it, and the cells; empty rows are left out."""
    note: str
    """How it was read."""
    uneven: frozenset[int] = frozenset()
    """Numbers of rows with more cells than there are columns; what is too many is not in `rows`."""


def is_sheet(path: Path) -> bool:
    """Say whether a file is read as a table."""
    return path.suffix.lower() in ENDINGS


def read_sheet(path: Path) -> Sheet:
    """Read a table whose first row names the columns. Raises FileUnusable."""
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        rows, note = _xlsx(path), "the first sheet of the workbook"
    else:
        text, encoding = _decoded(path)
        mark = _delimiter(text)
        rows, note = _csv(path, text, mark), f"{encoding}, columns parted by {_MARKS[mark]}"
    numbered = ((number, cells) for number, cells in rows if any(cells))
    head = next(numbered, None)
    if head is None:
        raise FileUnusable(path, 0, "holds no rows; the first row must name the columns.")
    columns = _named(head[1])
    if len(columns) > MOST_COLUMNS:
        raise FileUnusable(path, head[0], f"has {len(columns)} columns; at most {MOST_COLUMNS} are read.")
    kept: list[tuple[int, tuple[str, ...]]] = []
    uneven: set[int] = set()
    for number, cells in numbered:
        if len(kept) == MOST_ROWS:
            raise too_long(path, number)
        if longest := next((cell for cell in cells if len(cell) > LARGEST_CELL), None):
            raise FileUnusable(
                path, number, f"has a cell of {len(longest)} characters; at most {LARGEST_CELL} are read."
            )
        if any(cells[len(columns) :]):
            uneven.add(number)
        kept.append((number, (*cells, *[""] * (len(columns) - len(cells)))[: len(columns)]))
    return Sheet(columns, tuple(kept), note, frozenset(uneven))


def too_long(path: Path, number: int) -> FileUnusable:
    """Return the error for a table with more rows than are taken at one time."""
    text = f"has more than {MOST_ROWS} rows; nothing was imported. Name the file with the drills, or split it."
    return FileUnusable(path, number, text)


def _named(cells: Sequence[str]) -> tuple[str, ...]:
    """Return the headings; an empty one is called after its place, a second of a name gets a number."""
    found: list[str] = []
    for place, cell in enumerate(cells, start=1):
        name = " ".join(cell.split()) or f"column {place}"
        while name in found:
            name += f" ({place})"
        found.append(name)
    return tuple(found)


def _decoded(path: Path) -> tuple[str, str]:
    try:
        if path.stat().st_size > LARGEST_CSV:
            raise FileUnusable(path, 0, f"is larger than {LARGEST_CSV // 1_000_000} million bytes; split the file.")
        content = path.read_bytes()
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be read ({error.strerror}).") from None
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise FileUnusable(path, 0, "is a spreadsheet, not CSV; save it as .xlsx and import that.")
    if wide := _wide(content):
        try:
            return content.decode(wide).removeprefix("\ufeff"), "UTF-16"
        except UnicodeDecodeError:
            raise FileUnusable(path, 0, "looks like UTF-16 but is damaged; save it as CSV UTF-8.") from None
    if b"\0" in content:
        raise FileUnusable(path, 0, "is not text; save it as CSV or XLSX.")
    for encoding, name in TRIED:
        try:
            return content.decode(encoding), name
        except UnicodeDecodeError:
            continue
    raise FileUnusable(path, 0, "is not text that can be read; save it as CSV UTF-8.")


def _wide(content: bytes) -> str:
    """Return the name of the UTF-16 that a file is in, by its mark or by the zeros between plain letters."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    start = content[:2000]
    if len(start) > 3 and start[1::2].count(0) > 0.6 * len(start[1::2]) and not start[0::2].count(0):
        return "utf-16-le"
    if len(start) > 3 and start[0::2].count(0) > 0.6 * len(start[0::2]) and not start[1::2].count(0):
        return "utf-16-be"
    return ""


_MARKS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}


def _delimiter(text: str) -> str:
    """Return the mark that parts most columns in the first row, quotation marks respected."""
    head = text.lstrip("\r\n")[:20_000]
    counts = {mark: len(next(csv.reader(io.StringIO(head, newline=""), delimiter=mark), [])) for mark in _MARKS}
    return max(counts, key=lambda mark: counts[mark])


def _csv(path: Path, text: str, mark: str) -> Iterator[tuple[int, list[str]]]:
    csv.field_size_limit(LARGEST_CELL * 50)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    number = 0
    while True:
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise FileUnusable(path, reader.line_num, f"is not CSV here ({error}).") from None
        if cells is None:
            return
        number += 1
        yield number, [_cell(cell) for cell in cells]


def _xlsx(path: Path) -> Iterator[tuple[int, list[str]]]:
    with safe_zip(path, LARGEST_SHEET) as opened:  # before the spreadsheet library unpacks it
        for entry in opened.infolist():
            if entry.filename.endswith((".xml", ".rels")):
                with opened.open(entry) as part:
                    if b"<!DOCTYPE" in part.read(2000):
                        raise FileUnusable(path, 0, "holds XML that defines things of its own; nothing of it is used.")
    import openpyxl  # only where a workbook is read
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        sheet = book.worksheets[0]
        for number, row in enumerate(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS + 1), start=1):
            if number > MOST_ROWS + 1 and any(cell is not None for cell in row):
                raise too_long(path, number)
            yield number, _trimmed([_cell(_plain(cell)) for cell in row])
        book.close()
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, TypeError, IndexError, OSError) as error:
        raise FileUnusable(path, 0, f"is no workbook that can be read ({type(error).__name__}).") from None
    except SyntaxError:  # what the XML parser raises
        raise FileUnusable(path, 0, "is a damaged workbook; open and save it again.") from None


def _trimmed(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _plain(cell: Any) -> str:
    if cell is None:
        return ""
    return str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)


def _cell(text: str) -> str:
    """Return a cell without the apostrophe that keeps a spreadsheet from taking it for a formula."""
    text = text.strip().replace("\x00", "")
    return text[1:] if re.match(r"'+[=+\-@\t]", text) else text


def propose(sheet: Sheet, given: Mapping[str, str]) -> tuple[Column, ...]:
    """Return for each column the field that it seems to hold; `given` maps columns to fields and wins.

    Raises UnknownName for a column or field that there is not.
    """
    from rapidfuzz import fuzz

    if unknown := [name for name in given if name not in sheet.columns]:
        raise UnknownName("column", unknown, sheet.columns)
    fields = {name.lower(): name for name in all_fields()}
    if unknown := [field for field in given.values() if field and field.lower() not in fields]:
        raise UnknownName("field of a card", unknown, all_fields())
    names = {_key(name): field.field for field in all_fields().values() for name in (field.field, *field.aka)}
    found: list[Column] = []
    for place, column in enumerate(sheet.columns):
        example = next((cells[place] for _, cells in sheet.rows if cells[place]), "")[:60]
        if column in given:
            found.append(Column(column, fields.get(given[column].lower(), ""), "given", example))
        elif field := names.get(_key(column)):
            found.append(Column(column, field, "same name", example))
        else:
            best = max(names, key=lambda name: fuzz.ratio(name, _key(column)))
            sure = fuzz.ratio(best, _key(column)) >= ALIKE
            found.append(Column(column, names[best] if sure else "", "similar name" if sure else "not used", example))
    return tuple(found)


def _key(name: str) -> str:
    return " ".join(re.findall(r"[a-z]+", name.lower()))


def row_fields(cells: Sequence[str], columns: Iterable[Column], fixed: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of one row; two columns of one field are joined, `fixed` fills what the row leaves open."""
    found: dict[str, str] = {}
    for cell, column in zip(cells, columns, strict=True):
        if column.field and cell:
            before = found.get(column.field)
            joint = "\n" if column.field in SECTIONS else "; "
            found[column.field] = cell if before is None else f"{before}{joint}{cell}"
    return {**{name: text for name, text in fixed.items() if text}, **found}


def need_title(columns: Iterable[Column]) -> None:
    """Raise UsageError when no column holds the title."""
    known = list(columns)
    if not any(column.field == "title" for column in known):
        names = ", ".join(column.column for column in known[:12])
        raise UsageError(f"No column holds the title; the columns are {names}. Say --map 'COLUMN=title'.")

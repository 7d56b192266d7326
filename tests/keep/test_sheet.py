"""Tables as other programs write them: encodings, delimiters, workbooks, far too many rows."""

import zipfile
from datetime import datetime
from pathlib import Path

import duckdb
import pytest
import xlsxwriter

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.keep.sheet import MOST_ROWS, Sheet, need_title, propose, read_sheet, row_fields

ROWS = [["Name", "Level", "What to do"], ["Größe – “tall”", "3-5", "Stand.\nWalk."], ["Café £5", "4", "a;b,c"]]
MAY_3 = datetime(2026, 5, 3)


def cells(sheet: Sheet) -> list[list[str]]:
    """Return headings and rows as lists."""
    return [list(sheet.columns), *(list(row) for _, row in sheet.rows)]


def quoted(rows: list[list[str]], mark: str, end: str = "\r\n") -> str:
    """Write CSV by hand, as RFC 4180 has it: every field in quotes, quotes doubled, lines ended by CR LF."""
    doubled = [['"' + cell.replace('"', '""') + '"' for cell in row] for row in rows]
    return end.join(mark.join(row) for row in doubled) + end


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"])
def test_csv_in_every_usual_encoding(tmp_path: Path, encoding: str, mark: str) -> None:
    """The same cells come out, whatever program saved it."""
    path = tmp_path / "drills.csv"
    path.write_bytes(quoted(ROWS, mark).encode(encoding))
    assert cells(read_sheet(path)) == ROWS


def test_csv_written_by_another_library(tmp_path: Path) -> None:
    """DuckDB's own CSV writer: the cells come out as they went in."""
    path = tmp_path / "drills.csv"
    with duckdb.connect() as db:
        db.execute('create table t ("Name" varchar, "Level" varchar, "What to do" varchar)')
        db.executemany("insert into t values (?, ?, ?)", ROWS[1:])
        db.execute(f"copy t to '{path}' (header, delimiter ';')")
    assert cells(read_sheet(path)) == ROWS


def test_xlsx_written_by_another_library(tmp_path: Path) -> None:
    """XlsxWriter's workbook: text, whole numbers, dates that were meant as levels, empty rows and columns."""
    path = tmp_path / "drills.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet()
        for place, row in enumerate(ROWS):
            sheet.write_row(place, 0, row)
        sheet.write_row(4, 0, ["Numbers", 4])
        sheet.write_datetime(5, 1, MAY_3, book.add_format({"num_format": "d-m"}))
        sheet.write(5, 0, "Date")
        sheet.write_formula(6, 0, '=CONCAT("a","b")', None, "ab")
    found = read_sheet(path)
    assert cells(found) == [*ROWS, ["Numbers", "4", ""], ["Date", "2026-05-03 00:00:00", ""], ["ab", "", ""]]
    assert [number for number, _ in found.rows] == [2, 3, 5, 6, 7]


def test_far_too_many_rows_are_refused(tmp_path: Path) -> None:
    """50,000 rows of CSV or XLSX are told in a sentence, and only as many as are allowed are kept on the way."""
    row = "Tall fall,3-5,Stand and fall\n"
    (tmp_path / "big.csv").write_text("Name,Level,Do\n" + row * 50_000, "utf-8")
    with xlsxwriter.Workbook(str(tmp_path / "big.xlsx"), {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        for place in range(50_000):
            sheet.write_row(place, 0, ["Name", "Level", "Do"] if not place else row.split(","))
    for name in ("big.csv", "big.xlsx"):
        with pytest.raises(FileUnusable, match=f"more than {MOST_ROWS} rows; nothing was imported"):
            read_sheet(tmp_path / name)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.csv", b"", "holds no rows"),
        ("a.csv", b"\n\n,,\n", "holds no rows"),
        ("a.csv", b"PK\x03\x04rest", "save it as .xlsx"),
        ("a.csv", b"\xff\xfea", "damaged"),
        ("a.csv", b"Name\n\x00\x00\x00\x01\x02", "not text"),
        ("a.csv", b"Name\n" + b"x" * 30_000, "a cell of 30000"),
        ("a.csv", ",".join(f"c{n}" for n in range(300)).encode(), "300 columns"),
        ("a.xlsx", b"Name,Level\n", "no zip file"),
        ("a.xlsx", None, "no workbook"),
    ],
)
def test_what_is_no_table_is_told(tmp_path: Path, name: str, content: bytes | None, says: str) -> None:
    """One sentence with the remedy, never a traceback of the reader's."""
    path = tmp_path / name
    if content is None:
        with zipfile.ZipFile(path, "w") as book:
            book.writestr("hello.xml", "<a/>")
    else:
        path.write_bytes(content)
    with pytest.raises(FileUnusable, match=says):
        read_sheet(path)


def test_a_workbook_that_explodes_is_refused(tmp_path: Path) -> None:
    """Neither a packed giant nor XML that defines entities reaches the reader of workbooks."""
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("xl/worksheets/sheet1.xml", b"0" * 30_000_000)
    with pytest.raises(FileUnusable, match="far more"):
        read_sheet(tmp_path / "bomb.xlsx")
    laughs = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;">]><a>&c;</a>'
    with zipfile.ZipFile(tmp_path / "laughs.xlsx", "w") as book:
        book.writestr("xl/workbook.xml", laughs)
    with pytest.raises(FileUnusable, match="defines things"):
        read_sheet(tmp_path / "laughs.xlsx")


def sheet_of(*columns: str) -> Sheet:
    """Return a table with one row."""
    return Sheet(columns, ((2, tuple(f"{name} cell" for name in columns)),), "")


HEADINGS = [
    ("Drill name", "title", "same name"),
    ("EQUIPMENT NEEDED", "equipment", "same name"),
    ("Coaching cues", "Say", "same name"),
    ("Set-up:", "Set up", "same name"),
    ("Progresion from", "after", "similar name"),
    ("Safty notes", "Keep safe", "similar name"),
    ("load.on", "load.on", "same name"),
    ("Date added", "", "not used"),
    ("Our rating", "", "not used"),
]


@pytest.mark.parametrize(("heading", "field", "how"), HEADINGS)
def test_columns_are_proposed(heading: str, field: str, how: str) -> None:
    """By the names that clubs give them, also misspelt; what is unlike anything is not used."""
    (column,) = propose(sheet_of(heading), {})
    assert (column.field, column.how, column.example) == (field, how, f"{heading} cell")


def test_columns_are_given() -> None:
    """The coach's word wins; names that are none are told with the nearest."""
    sheet = sheet_of("Drill", "Stuff", "Tip 1", "Tip 2", "Level")
    given = {"Stuff": "equipment", "Tip 1": "say", "Tip 2": "Say", "Level": ""}
    columns = propose(sheet, given)
    assert [column.field for column in columns] == ["title", "equipment", "Say", "Say", ""]
    fields = row_fields(("Tall fall", "", "one", "two", "4"), columns, {"equipment": "wedge", "level": "3"})
    assert fields == {"title": "Tall fall", "Say": "one\ntwo", "equipment": "wedge", "level": "3"}
    with pytest.raises(UnknownName, match="Tip 1"):
        propose(sheet, {"Tip 3": "Say"})
    with pytest.raises(UnknownName, match="equipment"):
        propose(sheet, {"Stuff": "equpment"})
    with pytest.raises(UsageError, match="COLUMN=title"):
        need_title(propose(sheet_of("Level", "Kit"), {}))

"""A planned evening as PDF, read by an independent reader."""

import io

from pypdf import PdfReader

from kb.facade import Library
from kb.handout.evening import evening_pdf
from kb.model import Plan
from kb.plan.printable import printable


def test_the_evening_on_paper(starter: Library, demo: Plan) -> None:
    """One timetable, a page for each station with its cautions, strips; the notice on every page; tagged and titled."""
    sheet = printable(demo, starter.index)
    reader = PdfReader(io.BytesIO(evening_pdf([sheet])))
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert all("A qualified coach decides" in page for page in pages)
    assert all(team in pages[0] for team in sheet.columns)
    assert all(row[0] in pages[0] for row in sheet.rows)
    for number, station in enumerate(sheet.stations, start=1):
        assert station.title in pages[number]
        for line in starter.card(station.card).sections["Keep safe"].splitlines():
            assert " ".join(line.lstrip("-* ").replace("**", "").split()) in pages[number].replace("\u200b", "")
    assert all(strip.coach in " ".join(pages[len(sheet.stations) + 1 :]) for strip in sheet.coaches)
    assert bool(reader.trailer["/Root"]["/MarkInfo"]["/Marked"])
    assert reader.metadata is not None
    assert reader.metadata.title == sheet.title


def test_the_same_evening_gives_the_same_bytes(starter: Library, demo: Plan) -> None:
    """Nothing of the clock is in the file."""
    sheet = printable(demo, starter.index)
    assert evening_pdf([sheet]) == evening_pdf([sheet])

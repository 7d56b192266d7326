"""A planned evening as PDF: timetable, a sheet for each station, strips for the coaches."""

import re
from collections.abc import Iterable, Iterator

import msgspec

from kb.handout.pages import PAGES
from kb.handout.pdf import PAPERS, for_print, set_pdf
from kb.model import Paper, PlanSheet


def evening_pdf(sheets: Iterable[PlanSheet], paper: Paper = "a4") -> bytes:
    """Return the pages of one evening or several as a tagged PDF. Raises SheetUnprintable."""
    evenings = [_evening(sheet) for sheet in sheets]
    inputs = {"evenings": msgspec.json.encode(for_print(evenings)).decode(), "paper": PAPERS[paper]}
    return set_pdf(PAGES / "evening.typ", inputs)


def _evening(sheet: PlanSheet) -> dict[str, object]:
    plain: dict[str, object] = msgspec.to_builtins(sheet)
    plain["stations"] = [
        {
            **msgspec.to_builtins(station),
            "svg": station.svg or "",
            "sections": [{"name": name, "lines": list(_lines(text))} for name, text in station.sections.items()],
        }
        for station in sheet.stations
    ]
    return plain


def _lines(text: str) -> Iterator[str]:
    """Yield Markdown line by line without its marks, a dot before what was a bullet."""
    for line in text.splitlines():
        if line.strip():
            yield re.sub(r"^[-*] +", "• ", re.sub(r"\*\*(.+?)\*\*", r"\1", line.strip()))

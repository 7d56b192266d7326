"""The printed pages of a plan as Markdown."""

from collections.abc import Iterable, Iterator

from kb.model import PlanSheet
from kb.model.plan import StationSheet


def sheet_markdown(sheets: Iterable[PlanSheet]) -> str:
    """Return the pages of one evening, or of several one after the other."""
    return "\n".join(line for sheet in sheets for line in _evening(sheet)) + "\n"


def _evening(sheet: PlanSheet) -> Iterator[str]:
    yield from (f"# {sheet.title}", "", *(f"{line}  " for line in sheet.head), "")
    yield f"| Time | {' | '.join(sheet.columns)} |"
    yield f"|---|{'---|' * len(sheet.columns)}"
    for row in sheet.rows:
        yield f"| {' | '.join(_cell(cell) for cell in row)} |"
    yield from ("", f"**{sheet.notice}**", "")
    yield from (f"- {note}" for note in sheet.notes)
    for station in sheet.stations:
        yield from _station(station, sheet.notice)
    for strip in sheet.coaches:
        yield from ("", f"## {strip.coach}", "", *(f"- {line}" for line in strip.lines), "", f"**{sheet.notice}**", "")


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", "<br>")


def _station(station: StationSheet, notice: str) -> Iterator[str]:
    yield from (
        "",
        f"## {station.title} ({station.event})",
        "",
        f"`drillkb card {station.card} --picture FILE.svg`",
        "",
    )
    yield f"- When: {'; '.join(station.turns)}"
    yield f"- Kit: {', '.join(station.kit) or 'nothing'}"
    yield f"- Spot: {station.spotting}"
    for size in station.sizes:
        yield f"- Sizes, {size.group}: {' | '.join(size.lines)}"
    yield from (f"- Mind: {note}" for note in station.notes)
    for heading, words in station.sections.items():
        yield from ("", f"### {heading}", "", words)
    yield from ("", f"**{notice}**")

"""The printed pages of a plan as one HTML file, pictures inside it."""

from base64 import b64encode
from collections.abc import Iterable
from html import escape
from pathlib import Path

from kb.model import PlanSheet
from kb.model.plan import StationSheet

STYLE = Path(__file__).with_name("page.css")


def sheet_html(sheets: Iterable[PlanSheet]) -> str:
    """Return the pages of one evening, or of several one after the other."""
    every = list(sheets)
    body = "\n".join(_evening(sheet) for sheet in every)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(every[0].title)}</title>\n<style>\n{STYLE.read_text('utf-8')}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _evening(sheet: PlanSheet) -> str:
    head = "".join(f"<p>{escape(line)}</p>" for line in sheet.head)
    columns = "".join(f"<th>{escape(name)}</th>" for name in sheet.columns)
    rows = "".join(
        f"<tr><th>{escape(row[0])}</th>{''.join(_cell(cell) for cell in row[1:])}</tr>\n" for row in sheet.rows
    )
    notes = "".join(f"<li>{escape(note)}</li>" for note in sheet.notes)
    notice = f'<p class="notice">{escape(sheet.notice)}</p>'
    wall = (
        f'<section class="wall">\n<h1>{escape(sheet.title)}</h1>\n{head}\n<table>\n'
        f'<tr><th class="time">Time</th>{columns}</tr>\n{rows}</table>\n{notice}\n'
        f'<ul class="notes">{notes}</ul></section>'
    )
    stations = "\n".join(_station(station, notice) for station in sheet.stations)
    strips = "\n".join(
        f'<div class="strip"><h3>{escape(strip.coach)}</h3>{"".join(f"<p>{escape(line)}</p>" for line in strip.lines)}'
        f"{notice}</div>"
        for strip in sheet.coaches
    )
    return f'{wall}\n{stations}\n<section class="strips">\n{strips}\n</section>'


def _cell(text: str) -> str:
    first, *rest = text.split("\n")
    if not rest:
        return f'<td class="none">{escape(first)}</td>'
    title, *others = rest
    who = f'<span class="who">{escape(others[0])}</span>' if others and others[0].startswith("Coach") else ""
    extra = "".join(f'<span class="extra">{escape(line)}</span>' for line in others[1 if who else 0 :])
    return f"<td><b>{escape(first)}</b>{escape(title)}{who}{extra}</td>"


def _station(station: StationSheet, notice: str) -> str:
    from markdown_it import MarkdownIt

    text = MarkdownIt("commonmark", {"html": False})
    facts = [
        ("When", "; ".join(station.turns)),
        ("Kit", ", ".join(station.kit) or "nothing"),
        ("Spot", station.spotting),
        *((f"Sizes, {size.group}", " | ".join(size.lines)) for size in station.sizes),
        *(("Mind", note) for note in station.notes),
    ]
    listed = "".join(f"<p><b>{escape(name)}:</b> {escape(words)}</p>" for name, words in facts)
    picture = ""
    if station.svg:
        data = b64encode(station.svg.encode()).decode()
        picture = f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(station.title)}, drawn">'
    parts = "".join(
        f"<div><h3>{escape(heading)}</h3>{text.render(words)}</div>"
        for heading, words in station.sections.items()
        if heading != "Keep safe"
    )
    safe = text.render(station.sections.get("Keep safe", ""))
    return (
        f"<section>\n<h2>{escape(station.title)} <small>({escape(station.event)})</small></h2>\n"
        f'<div class="head"><div>{listed}</div>{picture}</div>\n<div class="two">{parts}</div>\n'
        f'<div class="safe"><h3>Keep safe</h3>{safe}</div>\n{notice}</section>'
    )

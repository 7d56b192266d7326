"""A sheet as one web page that prints: drawings, codes and typefaces inside, no script, nothing fetched."""

import base64
from collections.abc import Iterable, Iterator
from html import escape

from kb.handout.labels import LABELS
from kb.handout.pages import PAGES
from kb.handout.plain import FONTS
from kb.model.sheet import (
    Block,
    Line,
    Paper,
    Sheet,
    SheetBuild,
    SheetCode,
    SheetDrill,
    SheetPart,
    SheetPiece,
    SheetRung,
    SheetSign,
)

CUES_SHOWN = 3
SHORT = ("station", "pocket")
"""Kinds whose drills show no more than what the station needs."""
PAPERS: dict[Paper, str] = {"a4": "A4", "letter": "letter"}


def sheet_html(sheet: Sheet, paper: Paper = "a4") -> str:
    """Return the sheet as a whole page of HTML."""
    body = "\n".join(part for part in _body(sheet) if part)
    about = " · ".join(filter(None, (sheet.club, sheet.date_says, sheet.version)))
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(sheet.title)}</title>\n<style>\n{_style(sheet, paper)}</style>\n</head>\n"
        f'<body class="{sheet.kind}">\n<main>\n{body}\n</main>\n<footer><p>{escape(sheet.notice)}</p>'
        f'<p class="small">{escape(about)}</p></footer>\n'
        "</body>\n</html>\n"
    )


def _style(sheet: Sheet, paper: Paper) -> str:
    style = (PAGES / "style.css").read_text("utf-8")
    about = " · ".join(filter(None, (sheet.club, sheet.title, sheet.date_says)))
    foot = f"{_css(sheet.notice)} '\\A ' {_css(about)}"
    for name, value in (("PAPER", PAPERS[paper]), ("FOOT", foot), ("VERSION", _css(sheet.version))):
        style = style.replace(name, value)
    for name, weight in (("REGULAR", "Regular"), ("BOLD", "Bold")):
        style = style.replace(name, base64.b64encode((FONTS / f"Inter-{weight}.otf").read_bytes()).decode())
    return style


def _css(text: str) -> str:
    """Return a text as a CSS string in which every sign is written as its number."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text) + '"'


def _body(sheet: Sheet) -> Iterator[str]:
    about = [sheet.club, sheet.date_says, *sheet.for_whom]
    yield f"<h1>{escape(sheet.title)}</h1>\n<p>{escape(' · '.join(filter(None, about)))}</p>"
    yield _code(sheet.code) if sheet.code else ""
    yield f'<p class="stop"><strong>{escape(sheet.notice)}</strong> {escape(LABELS["pain"])}</p>'
    if sheet.kind in ("clinic", "book") and len(sheet.drills) > 2:
        links = "".join(f'<li><a href="#{drill.id}">{escape(drill.title)}</a></li>' for drill in sheet.drills)
        yield f"<nav><h4>{LABELS['here']}</h4><ol>{links}</ol></nav>"
    drills = {drill.id: drill for drill in sheet.drills}
    printed: set[str] = set()
    for part in sheet.parts:
        yield from _part(part, sheet)
        fresh = [drills[name] for name in part.drills if name not in printed]
        again = [drills[name] for name in part.drills if name in printed]
        printed |= set(part.drills)
        cards = "\n".join(_short(d) if sheet.kind in SHORT else _drill(d) for d in fresh)
        yield f'<div class="cards">{cards}</div>' if cards else ""
        for drill in again:
            yield f'<p>→ <a href="#{drill.id}">{drill.number}. {escape(drill.title)}</a></p>'
        yield _listed("aside", part.aside)
    if not sheet.drills and sheet.kind != "ladder":
        yield f"<p>{LABELS['empty']}</p>"
    yield from _ending(sheet)


def _ending(sheet: Sheet) -> Iterator[str]:
    titles = {drill.id: drill.title for drill in sheet.drills}
    if sheet.kit:
        yield _kit_table(sheet)
    for group in sheet.indexes:
        lines = (
            f"<li>{escape(line.name)}: "
            + "; ".join(f'<a href="#{name}">{escape(titles[name])}</a>' for name in line.drills)
            + "</li>"
            for line in group.lines
        )
        yield f'<section><h2>{escape(group.title)}</h2><ul class="index">{"".join(lines)}</ul></section>'
    if sheet.kind in ("clinic", "station", "book"):
        yield f'<section class="notes"><h2>{LABELS["notes"]}</h2>{"<div></div>" * 6}</section>'
    if sheet.signs:
        signs = "".join(map(_sign, sheet.signs))
        yield f'<section class="signs"><h2>{LABELS["signs"]}</h2><p>{LABELS["signs_say"]}</p>{signs}</section>'


def _part(part: SheetPart, sheet: Sheet) -> Iterator[str]:
    if part.title != sheet.title and not (sheet.kind in SHORT and part.drills):
        yield f"<h2>{escape(part.title)}</h2>"
    if part.asked:
        yield f"<p>{LABELS['asked']}: “{escape(part.asked)}”</p>"
    if part.sign:
        yield _sign(part.sign)
    if part.looks_like and sheet.kind not in SHORT:
        yield f"<p><strong>{LABELS['see']}</strong> {escape(part.looks_like)}</p>"
    if part.causes and sheet.kind not in SHORT:
        rows = ((f"<strong>{escape(cause.name)}</strong>", escape(cause.tell)) for cause in part.causes)
        yield _table((LABELS["cause"], LABELS["tell"]), rows)
    if part.turns:
        numbers = {drill.id: f"{drill.number}. {drill.title}" for drill in sheet.drills}
        turned = (tuple(map(escape, (t.when, t.who, t.event, numbers.get(t.drill, ""), t.coach))) for t in part.turns)
        yield _table(tuple(LABELS[name] for name in ("when", "who", "event", "drill", "coach")), turned)
    yield from (f'<p class="small">{escape(line)}</p>' for line in part.about)
    yield from map(_rung, part.rungs)


def _rung(rung: SheetRung) -> str:
    start = f" <strong>← {LABELS['start']}</strong>" if rung.start else ""
    others = f'<p class="small">{LABELS["or"]}: {escape("; ".join(rung.others))}</p>' if rung.others else ""
    closed = f"<p><strong>{LABELS['closed']}:</strong> {escape(rung.closed)}</p>" if rung.closed else ""
    return (
        f'<section class="rung"><div><span class="number">{rung.rung}</span></div>'
        f'<div class="picture">{inline(rung.picture, f"rung-{rung.drill}")}</div>'
        f'<div><h3>{escape(rung.title)}{start}</h3><p class="small">{escape(rung.about)}</p>'
        f"<p><strong>{LABELS['up']}</strong> {escape(rung.ready_when)}</p>{others}{closed}</div></section>"
    )


def _drill(drill: SheetDrill) -> str:
    sections = "".join(
        f"<h4>{escape(section.name)}</h4>{_blocks(section.blocks)}"
        for section in drill.sections
        if section.name not in ("Fixes", "Keep safe")
    )
    before = f"<p><strong>{LABELS['before']}</strong> {escape(drill.before)}.</p>" if drill.before else ""
    return (
        f'<article class="drill" id="{drill.id}">{_head(drill, full=True)}{_blocks(drill.section("Fixes"))}'
        f'<div class="two"><div>{_facts(drill)}</div><div>{sections}</div></div>'
        f'<div class="stop"><h4>{LABELS["safe"]}</h4>{_blocks(drill.section("Keep safe"))}</div>'
        f'<div class="up"><p><strong>{LABELS["up"]}</strong> {escape(drill.ready_when)}</p>'
        f"<p><strong>{LABELS['runs']}</strong> {escape(drill.group)}.</p>{before}</div></article>"
    )


def _short(drill: SheetDrill) -> str:
    cues = "".join(f"<div>“{escape(cue)}”</div>" for cue in drill.cues[:CUES_SHOWN])
    return (
        f'<article class="drill" id="{drill.id}">{_head(drill, full=False)}'
        f'<div class="picture">{inline(drill.picture, drill.id)}</div><div class="cues">{cues}</div>'
        f"{_facts(drill, picture=False)}<p><strong>{LABELS['up']}</strong> {escape(drill.ready_when)}</p>"
        f'<p class="stop">{escape(drill.stop)}</p></article>'
    )


def _head(drill: SheetDrill, *, full: bool) -> str:
    about = [drill.event, drill.levels, drill.stage, *([drill.rung] if full else [])]
    number = f'<span class="number">{drill.number}</span>' if full else ""
    return f'<header><h3>{number}{escape(drill.title)}</h3><p class="small">{escape(" · ".join(about))}</p></header>'


def _facts(drill: SheetDrill, *, picture: bool = True) -> str:
    parts = []
    if drill.picture and picture:
        parts.append(f'<div class="picture">{inline(drill.picture, drill.id)}</div>')
        parts.append(f'<p class="small">{escape(drill.drawn_for)}</p>')
    parts.append(f"<p><strong>{LABELS['kit']}</strong><br>{escape(pieces(drill.kit))}</p>")
    if drill.for_whom:
        builds = "".join(map(_build, drill.builds))
        parts.append(f"<p><strong>{LABELS['sizes']}</strong><br>{escape(drill.for_whom)}</p>{builds}")
    twin = f" {LABELS['twin']} {escape(drill.twin)}." if drill.twin else ""
    spot = f"<strong>{escape(drill.spot)}.</strong> {escape(drill.hands)}{twin}"
    parts.append(f"<p><strong>{LABELS['hands']}</strong><br>{spot}</p>")
    parts.append(_code(drill.code) if drill.code else "")
    return "".join(parts)


def _build(build: SheetBuild) -> str:
    children = f"<p><strong>{escape(build.children)}</strong></p>" if build.children else ""
    lines = (
        f"<li>{escape(one.piece)}: <strong>{escape(one.size)}</strong>"
        + (f"<br>{LABELS['build']} {escape(one.build)}" if one.build else "")
        + "</li>"
        for one in build.sizes
    )
    return f"{children}<ul>{''.join(lines)}</ul>"


def pieces(kit: Iterable[SheetPiece]) -> str:
    """Return the kit of a drill in one line."""
    said = (
        f"{f'{one.count} × ' if one.count > 1 else ''}{one.name}{f' ({one.note})' if one.note else ''}" for one in kit
    )
    return ", ".join(said) or LABELS["nothing"]


def _kit_table(sheet: Sheet) -> str:
    many, owned = len(sheet.drills) > 1, any(one.owned is not None for one in sheet.kit)
    names = ["piece", *(("together", "most") if many else ("count",)), *(["owned"] if owned else [])]
    rows = []
    for one in sheet.kit:
        row = [escape(one.name), str(one.together), *([str(one.most)] if many else [])]
        if owned:
            lacking = " !" if one.owned is not None and one.owned < one.together else ""
            row.append("" if one.owned is None else f"{one.owned}{lacking}")
        rows.append((*row, *([", ".join(map(str, one.drills))] if many else [])))
    heads = tuple(LABELS[name] for name in (*names, *(["drills"] if many else [])))
    short = any(one.owned is not None and one.owned < one.together for one in sheet.kit)
    note = f'<p class="small">{LABELS["short"]}</p>' if short else ""
    says = LABELS["carry_say" if many else "carry_one"]
    return f'<section class="kit"><h2>{LABELS["carry"]}</h2><p>{says}</p>{_table(heads, rows)}{note}</section>'


def _sign(sign: SheetSign) -> str:
    return (
        f'<div class="stop"><h4>{LABELS["stop"]} {escape(sign.name)}.</h4><p>{escape(sign.say)}</p>'
        f'<p class="small">{LABELS["source"]}: {escape(sign.source)}.</p></div>'
    )


def _code(code: SheetCode) -> str:
    picture = code.svg.replace("<svg ", f'<svg role="img" aria-label="{LABELS["code"]}: {escape(code.url)}" ', 1)
    link = f'<a href="{escape(code.url)}">{escape(code.url)}</a>'
    return f'<div><div class="qr">{picture}</div><p class="small">{escape(code.says)}: {link}</p></div>'


def inline(svg: str, name: str) -> str:
    """Return a drawing for the page, its title and description under names of their own."""
    return (
        svg.replace('"t d"', f'"t-{name} d-{name}"')
        .replace('id="t"', f'id="t-{name}"')
        .replace('id="d"', f'id="d-{name}"')
    )


def _blocks(blocks: Iterable[Block]) -> str:
    return "".join(map(_block, blocks))


def _block(block: Block) -> str:
    if block.kind == "text":
        return "".join(f"<p>{_line(line)}</p>" for line in block.lines)
    tag = "ul" if block.kind == "points" else "ol"
    return f"<{tag}>{''.join(f'<li>{_line(line)}</li>' for line in block.lines)}</{tag}>"


def _line(line: Line) -> str:
    return "".join(f"<strong>{escape(run.text)}</strong>" if run.bold else escape(run.text) for run in line)


def _listed(label: str, lines: tuple[str, ...]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f'<div class="small"><strong>{LABELS[label]}</strong><ul>{items}</ul></div>' if lines else ""


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    """Return a table; the cells are HTML already."""
    head = "".join(f"<th>{escape(name)}</th>" for name in heads)
    body = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"

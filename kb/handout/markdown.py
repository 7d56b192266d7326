"""A sheet as Markdown, with its pictures as files beside it."""

import re
from collections.abc import Iterable, Iterator
from urllib.parse import quote

from kb.handout.html import CUES_SHOWN, SHORT, pieces
from kb.handout.labels import LABELS
from kb.model.sheet import Block, Line, Sheet, SheetDrill, SheetPart, SheetSign

SIGNS = re.compile(r"[\\`*_{}\[\]<>#+|~=&$^@!]")
"""Signs that Markdown gives a meaning anywhere."""
FIRST = re.compile(r"^(\d+)([.)])")
"""What begins a list."""
DASH = re.compile(r"(?<!\w)-|-(?!\w)")
ADDRESS = re.compile(r"\b(https?|ftp|mailto|xmpp)(:)|\b(www)(\.)", re.I)
"""What some readers turn into a link by themselves."""


def sheet_markdown(sheet: Sheet, pictures: str) -> tuple[str, dict[str, str]]:
    """Return the sheet as Markdown, and the drawings by the name of their file in the folder `pictures`."""
    drawn = {f"{drill.id}.svg": drill.picture for drill in sheet.drills if drill.picture}
    drawn |= {f"{rung.drill}.svg": rung.picture for part in sheet.parts for rung in part.rungs if rung.picture}
    codes = [("our-page", sheet.code), *((f"video-{drill.id}", drill.code) for drill in sheet.drills)]
    drawn |= {f"{name}.svg": code.svg for name, code in codes if code}
    return "\n\n".join(part for part in _lines(sheet, pictures) if part) + "\n", drawn


def plain(text: str) -> str:
    """Return text in which no sign means anything to Markdown."""
    escaped = DASH.sub(r"\\-", FIRST.sub(r"\1\\\2", SIGNS.sub(r"\\\g<0>", text)))
    return ADDRESS.sub(lambda m: f"{m[1] or m[3]}\\{m[2] or m[4]}", escaped)


def _lines(sheet: Sheet, pictures: str) -> Iterator[str]:
    yield f"# {plain(sheet.title)}"
    yield plain(" · ".join(filter(None, (sheet.club, sheet.date_says, sheet.version, *sheet.for_whom))))
    if sheet.code:
        yield f"![{LABELS['code']}]({_path(pictures, 'our-page')}) {plain(sheet.code.says)}: <{sheet.code.url}>"
    yield f"**{plain(sheet.notice)}** {plain(LABELS['pain'])}"
    drills = {drill.id: drill for drill in sheet.drills}
    printed: set[str] = set()
    for part in sheet.parts:
        yield from _part(part, sheet, pictures)
        for name in part.drills:
            drill = drills[name]
            if name in printed:
                yield f"→ {drill.number}\\. {plain(drill.title)}"
            else:
                yield from (_short if sheet.kind in SHORT else _drill)(drill, pictures)
            printed.add(name)
        if part.aside:
            yield f"{LABELS['aside']}:"
            yield _points(map(plain, part.aside))
    if not sheet.drills and sheet.kind != "ladder":
        yield LABELS["empty"]
    yield from _ending(sheet)


def _ending(sheet: Sheet) -> Iterator[str]:
    if sheet.kit:
        many, owned = len(sheet.drills) > 1, any(one.owned is not None for one in sheet.kit)
        yield f"## {LABELS['carry']}"
        yield plain(LABELS["carry_say" if many else "carry_one"])
        names = ["piece", *(("together", "most") if many else ("count",)), *(["owned"] if owned else [])]
        rows = [
            [
                plain(one.name),
                str(one.together),
                *([str(one.most)] if many else []),
                *(["" if one.owned is None else str(one.owned)] if owned else []),
                *([", ".join(map(str, one.drills))] if many else []),
            ]
            for one in sheet.kit
        ]
        yield _table([LABELS[name] for name in (*names, *(["drills"] if many else []))], rows)
    titles = {drill.id: f"{drill.number}. {drill.title}" for drill in sheet.drills}
    for group in sheet.indexes:
        yield f"## {plain(group.title)}"
        lines = (f"{line.name}: {'; '.join(titles[name] for name in line.drills)}" for line in group.lines)
        yield _points(map(plain, lines))
    if sheet.signs:
        yield f"## {LABELS['signs']}"
        yield plain(LABELS["signs_say"])
        yield from (text for sign in sheet.signs for text in _sign(sign))
    yield f"**{plain(sheet.notice)}**"


def _part(part: SheetPart, sheet: Sheet, pictures: str) -> Iterator[str]:
    if part.title != sheet.title:
        yield f"## {plain(part.title)}"
    if part.asked:
        yield f"{LABELS['asked']}: “{plain(part.asked)}”"
    if part.sign:
        yield from _sign(part.sign)
    if part.looks_like and sheet.kind not in SHORT:
        yield f"**{LABELS['see']}:** {plain(part.looks_like)}"
    if part.causes and sheet.kind not in SHORT:
        rows = [[plain(cause.name), plain(cause.tell)] for cause in part.causes]
        yield _table([LABELS["cause"], LABELS["tell"]], rows)
    if part.turns:
        titles = {drill.id: f"{drill.number}. {drill.title}" for drill in sheet.drills}
        turned = [[plain(t) for t in (u.when, u.who, u.event, titles.get(u.drill, ""), u.coach)] for u in part.turns]
        yield _table([LABELS[name] for name in ("when", "who", "event", "drill", "coach")], turned)
    yield from map(plain, part.about)
    start = f" ← {LABELS['start']}"
    for rung in part.rungs:
        yield f"### {rung.rung}\\. {plain(rung.title)}{start if rung.start else ''}"
        yield _picture(pictures, rung.drill, rung.picture_says) if rung.picture else ""
        yield plain(rung.about)
        yield f"**{LABELS['up']}:** {plain(rung.ready_when)}"
        yield f"{LABELS['or']}: {plain('; '.join(rung.others))}" if rung.others else ""
        yield f"**{LABELS['closed']}:** {plain(rung.closed)}" if rung.closed else ""


def _drill(drill: SheetDrill, pictures: str) -> Iterator[str]:
    yield f"### {drill.number}\\. {plain(drill.title)}"
    yield plain(" · ".join((drill.event, drill.levels, drill.stage, drill.rung)))
    yield from map(_block, drill.section("Fixes"))
    yield from _facts(drill, pictures)
    yield f"**{LABELS['runs']}:** {plain(drill.group)}."
    yield f"**{LABELS['before']}:** {plain(drill.before)}." if drill.before else ""
    for section in drill.sections:
        if section.name not in ("Fixes", "Keep safe"):
            yield f"#### {plain(section.name)}"
            yield from map(_block, section.blocks)
    yield f"#### {LABELS['safe']}"
    yield from map(_block, drill.section("Keep safe"))
    yield f"**{LABELS['up']}:** {plain(drill.ready_when)}"


def _short(drill: SheetDrill, pictures: str) -> Iterator[str]:
    yield f"## {plain(drill.title)}"
    yield plain(" · ".join((drill.event, drill.levels, drill.stage)))
    yield _points(f"**“{plain(cue)}”**" for cue in drill.cues[:CUES_SHOWN])
    yield from _facts(drill, pictures)
    yield f"**{LABELS['up']}:** {plain(drill.ready_when)}"
    yield f"**STOP:** {plain(drill.stop)}"


def _facts(drill: SheetDrill, pictures: str) -> Iterator[str]:
    if drill.picture:
        yield _picture(pictures, drill.id, drill.picture_says)
        yield plain(drill.drawn_for)
    yield f"**{LABELS['kit']}:** {plain(pieces(drill.kit))}"
    if drill.for_whom:
        yield f"**{LABELS['sizes']}:** {plain(drill.for_whom)}"
    for build in drill.builds:
        yield f"**{plain(build.children)}**" if build.children else ""
        yield _points(
            f"{plain(one.piece)}: **{plain(one.size)}**"
            + (f"; {LABELS['build']} {plain(one.build)}" if one.build else "")
            for one in build.sizes
        )
    twin = f" {LABELS['twin']} {plain(drill.twin)}." if drill.twin else ""
    yield f"**{LABELS['hands']}:** **{plain(drill.spot)}.** {plain(drill.hands)}{twin}"
    if drill.code:
        mark = f"![{LABELS['code']}]({_path(pictures, f'video-{drill.id}')})"
        yield f"{mark} {plain(drill.code.says)}: <{drill.code.url}>"


def _sign(sign: SheetSign) -> Iterator[str]:
    yield f"**{LABELS['stop']} {plain(sign.name)}.** {plain(sign.say)}"
    yield f"{LABELS['source']}: {plain(sign.source)}."


def _picture(pictures: str, name: str, says: str) -> str:
    return f"![{plain(says)}]({_path(pictures, name)})"


def _path(pictures: str, name: str) -> str:
    return f"{quote(pictures)}/{name}.svg"


def _block(block: Block) -> str:
    if block.kind == "text":
        return "\n\n".join(map(_line, block.lines))
    marks = ("-" if block.kind == "points" else f"{number}." for number, _ in enumerate(block.lines, start=1))
    return "\n".join(f"{mark} {_line(line)}" for mark, line in zip(marks, block.lines, strict=True))


def _line(line: Line) -> str:
    said = []
    for place, run in enumerate(line):
        before = line[place - 1].text[-1:] if place else ""
        after = line[place + 1].text[:1] if place + 1 < len(line) else ""
        said.append(_bold(run.text, before, after) if run.bold else plain(run.text))
    return "".join(said)


def _bold(text: str, before: str, after: str) -> str:
    """Return words in bold; plain ones where stars between these two letters would be read as stars."""
    inner = text.strip()
    start, end = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
    opens = not (before + start)[-1:].isalnum() or inner[:1].isalnum()
    closes = not (end + after)[:1].isalnum() or inner[-1:].isalnum()
    return f"{start}**{plain(inner)}**{end}" if opens and closes else plain(text)


def _points(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _table(heads: list[str], rows: list[list[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)

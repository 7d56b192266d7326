"""The database that staff browse: plain tables with names instead of numbers, without what only the search needs."""

import re
import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import msgspec

from kb.library import Collection
from kb.model import Card, Vocabulary

Row = dict[str, Any]


def write_tables(collection: Collection, path: Path) -> Path:
    """Write the staff's database and return its path; it is written beside and moved in."""
    from sqlite_utils import Database

    beside = path.with_suffix(".building")
    beside.unlink(missing_ok=True)
    words, cards = collection.vocabulary, list(collection.cards.values())
    db = Database(sqlite3.connect(beside))
    for name, rows, key, labels in _tables(cards, words):
        for row in rows:
            row["page"] = _page(name, row)
        table = db.table(name).create(_columns(rows), pk=key, foreign_keys=labels)
        table.insert_all(rows)
    db.table("drills").enable_fts(["title", "fixes", "set_up", "do", "say", "goes_wrong", "keep_safe"])
    db.table("faults").enable_fts(["name", "looks_like", "heard_as"])
    db.vacuum()
    db.conn.close()
    beside.replace(path)
    return path


def _page(table: str, row: Row) -> str:
    """Return the address of our page for a row, or of the drills that it stands for."""
    if "drill" in row:
        return f"/drill/{row['drill']}"
    where = {
        "drills": "/drill/{id}",
        "faults": "/fault/{id}",
        "causes": "/fault/{fault}",
        "skills": "/ladder/{id}",
        "kit": "/kit?have={id}",
        "events": "/faults?event={id}",
        "stages": "/library/drills?stage={id}",
        "spotting": "/library/drills?spotting={id}",
    }
    return where[table].format(**row)


def _columns(rows: list[Row]) -> dict[str, type]:
    return {name: int if isinstance(value, (bool, int)) else str for name, value in rows[0].items()}


def _tables(cards: list[Card], words: Vocabulary) -> Iterable[tuple[str, list[Row], Any, list[tuple[str, str, str]]]]:
    """Yield name, rows, key and foreign keys of every table; those that are pointed to come first."""
    yield "events", [{"id": e.id, "event": e.name} for e in words.events.values()], "id", []
    yield "stages", [{"id": s.id, "stage": s.name, "means": s.means} for s in words.stages.values()], "id", []
    grades = [{"id": s.id, "spotting": s.name, "means": s.means} for s in words.spotting.values()]
    yield "spotting", grades, "id", []
    event = [("event", "events", "id")]
    skills = [{"id": s.id, "skill": s.name, "event": s.event, "level": str(s.level)} for s in words.skills.values()]
    yield "skills", skills, "id", event
    yield "kit", [_kit(item.id, words) for item in words.equipment.values()], "id", []
    faults = [
        {
            "id": f.id,
            "name": f.name,
            "event": f.event,
            "phase": f.phase.replace("-", " "),
            "looks_like": f.looks_like,
            "heard_as": "; ".join(f.heard_as),
            "drills": sum(any(use.fault == f.id for use in card.corrects) for card in cards),
        }
        for f in words.faults.values()
    ]
    yield "faults", faults, "id", event
    causes = [
        {"id": f"{f.id}/{c.id}", "cause": c.name, "fault": f.id, "ten_second_check": c.tell}
        for f in words.faults.values()
        for c in f.causes
    ]
    yield "causes", causes, "id", [("fault", "faults", "id")]
    drills = [_drill(card, words) for card in cards]
    keys = [*event, ("stage", "stages", "id"), ("spotting", "spotting", "id"), ("leads_to", "skills", "id")]
    yield "drills", drills, "id", keys
    drill = ("drill", "drills", "id")
    kit = [{"drill": c.id, "kit": p.item, "count": p.count} for c in cards for p in c.equipment]
    yield "drill_kit", kit, ("drill", "kit"), [drill, ("kit", "kit", "id")]
    mends = [
        {"drill": c.id, "fault": u.fault, "cause": f"{u.fault}/{u.cause}", "weight": u.weight}
        for c in cards
        for u in c.corrects
    ]
    yield "mends", mends, ("drill", "fault", "cause"), [drill, ("fault", "faults", "id"), ("cause", "causes", "id")]
    before = [{"drill": c.id, "ready_on": name} for c in cards for name in c.after if name in {o.id for o in cards}]
    yield "ready_on", before, ("drill", "ready_on"), [drill, ("ready_on", "drills", "id")]
    sizes = [
        {"drill": c.id, "piece": use.piece, "rule": words.sizes[use.rule].name, "offset_cm": str(use.offset_cm)}
        for c in cards
        for use in c.size
        if use.rule in words.sizes
    ]
    yield "sizes", sizes, None, [drill]


def _kit(name: str, words: Vocabulary) -> Row:
    item = words.equipment[name]
    return {
        "id": item.id,
        "kit": item.name,
        "kind": item.kind,
        "size_cm": " × ".join(f"{cm:g}" for cm in item.cm),
        "firm": int(item.firm),
        "stands_in": ", ".join(words.equipment[other].name for other in item.instead),
        "source": item.source,
    }


def _drill(card: Card, words: Vocabulary) -> Row:
    sections = {name: _plain(text) for name, text in card.sections.items()}
    kit = [words.equipment[piece.item].name for piece in card.equipment]
    low, high = card.levels
    mended = [words.faults[use.fault].name for use in card.corrects if use.fault in words.faults]
    return {
        "id": card.id,
        "title": card.title,
        "event": card.event,
        "levels": _list([str(level) for level in range(low, high + 1)]),
        "stage": card.stage,
        "spotting": card.spotting.grade,
        "leads_to": card.skills[0],
        "equipment": _list(kit),
        "faults": _list(list(dict.fromkeys(mended))),
        "spotters": card.spotting.spotters,
        "twin": card.no_spot_twin or "",
        "wrists": card.load.wrists,
        "landings": card.load.landings,
        "lands_on": card.load.on,
        "minutes": card.group.minutes,
        "reps": card.group.reps,
        "cap": card.cap or 0,
        "fixes": sections["Fixes"],
        "set_up": sections["Set up"],
        "do": sections["Do"],
        "say": sections["Say"],
        "goes_wrong": sections["Goes wrong"],
        "keep_safe": sections["Keep safe"],
        "move_up": card.ready_when,
        "sources": card.sources,
    }


def _plain(text: str) -> str:
    """Return Markdown without its marks."""
    return re.sub(r"\*\*(.+?)\*\*|^[-*] +", lambda found: found[1] or "", text, flags=re.M)


def _list(names: list[str]) -> str:
    return msgspec.json.encode(names).decode()

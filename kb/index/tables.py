"""The SQLite database: one table for each thing a coach can ask about, and those that search needs."""

import re
import sqlite3
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import msgspec

from kb.index.passages import Passage
from kb.index.texts import Encoded
from kb.index.words import Postings, grams, plain, terms
from kb.ladder import ladder_place, skill_rungs
from kb.library import Collection
from kb.library.said import CLUB
from kb.model import Card, Fault

Row = dict[str, Any]
Phrases = Sequence[tuple[str, str]]


def write_database(path: Path, collection: Collection, encoded: Encoded, meta: dict[str, str]) -> None:
    """Write the whole database to a new file, in one transaction."""
    import sqlite_utils

    path.unlink(missing_ok=True)
    connection = sqlite3.connect(path)
    # The file is built aside and thrown away if the build is killed: no journal is needed, and writing is much faster.
    connection.execute("pragma journal_mode = off")
    connection.execute("pragma synchronous = off")
    db = sqlite_utils.Database(connection)
    with connection:
        for name, (rows, keys) in content_tables(collection).items():
            _insert(db, name, rows, keys)
        for name, found, keys in search_tables(collection, encoded):
            _insert(db, name, found, keys)
        _insert(db, "meta", ({"key": key, "value": value} for key, value in meta.items()), ("key",))
        _full_text(db, collection)
    connection.close()


def search_tables(collection: Collection, encoded: Encoded) -> Iterable[tuple[str, Iterable[Row], tuple[str, ...]]]:
    """Yield name, rows and keys of the tables that search needs."""
    texts, cut = encoded.texts, len(encoded.texts.passages)
    yield "passages", _passage_rows(texts.passages, encoded.hashes[:cut]), ("id",)
    yield "phrases", _phrase_rows(texts.phrases, encoded.hashes[cut:]), ("id",)
    yield "vectors", ({"hash": key, "vector": blob} for key, blob in encoded.vectors.items()), ("hash",)
    yield "postings", posting_rows(collection, texts.phrases), ("space", "term")


def content_tables(collection: Collection) -> dict[str, tuple[list[Row], tuple[str, ...]]]:
    """Return the rows and primary keys of the tables made from cards and vocabulary alone."""
    words, cards = collection.vocabulary, list(collection.cards.values())
    rungs = {skill: skill_rungs(skill, collection.cards, words.stages) for skill in words.skills}
    return {
        "events": ([{"id": e.id, "name": e.name} for e in words.events.values()], ("id",)),
        "stages": (
            [{"id": s.id, "place": s.order, "name": s.name, "means": s.means} for s in words.stages.values()],
            ("id",),
        ),
        "spotting": (
            [{"id": s.id, "place": s.order, "name": s.name, "means": s.means} for s in words.spotting.values()],
            ("id",),
        ),
        "skills": (
            [
                {"id": s.id, "event": s.event, "name": s.name, "aka": ", ".join(s.aka), "level": str(s.level)}
                for s in words.skills.values()
            ],
            ("id",),
        ),
        "equipment": ([_equipment_row(item) for item in words.equipment.values()], ("id",)),
        "cards": ([_card_row(card, rungs) for card in cards], ("id",)),
        "card_skills": (
            [{"card": c.id, "skill": s, "place": n} for c in cards for n, s in enumerate(c.skills, 1)],
            ("card", "skill"),
        ),
        "card_equipment": (
            [{"card": c.id, "item": p.item, "count": p.count} for c in cards for p in c.equipment],
            ("card", "item"),
        ),
        "prerequisites": ([{"card": c.id, "before": b} for c in cards for b in c.after], ("card", "before")),
        "faults": ([_fault_row(fault) for fault in words.faults.values()], ("id",)),
        "causes": (
            [
                {"fault": f.id, "id": c.id, "name": c.name, "tell": c.tell}
                for f in words.faults.values()
                for c in f.causes
            ],
            ("fault", "id"),
        ),
        "corrects": (
            [{"card": c.id, "fault": u.fault, "cause": u.cause, "weight": u.weight} for c in cards for u in c.corrects],
            ("card", "fault", "cause"),
        ),
        "ladders": ([{"skill": skill, "rungs": _json(found)} for skill, found in rungs.items()], ("skill",)),
        "vocabulary": ([{"kind": "all", "json": _json(words)}], ("kind",)),
        "words": ([{"word": word, "count": count} for word, count in word_counts(collection).items()], ("word",)),
        "problems": (
            [{"file": p.file, "line": p.line, "field": p.field, "message": p.message} for p in collection.problems],
            (),
        ),
    }


def posting_rows(collection: Collection, phrases: Phrases) -> Iterable[Row]:
    """Yield the BM25 postings of cards by their words, and of faults and single phrases by the ways they are said."""
    spaces = {
        "cards": [card_terms(card) for card in collection.cards.values()],
        "phrases": [terms(text) for _, text in phrases],
        "faults": [fault_terms(fault) for fault in collection.vocabulary.faults.values()],
        "fault grams": [grams(" ".join(said_of(fault))) for fault in collection.vocabulary.faults.values()],
    }
    for space, documents in spaces.items():
        for term, (numbers, impacts) in Postings.build(documents).table.items():
            yield {"space": space, "term": term, "documents": numbers.tobytes(), "impacts": impacts.tobytes()}


def word_counts(collection: Collection) -> dict[str, int]:
    """Return every word of the library in lower case and how often it stands in cards, faults and names."""
    words = collection.vocabulary
    texts = [f"{card.title} {' '.join(card.sections.values())}" for card in collection.cards.values()]
    texts += [" ".join((fault.name, fault.looks_like, *fault.heard_as)) for fault in words.faults.values()]
    texts += [said.text for many in collection.said.values() for said in many if said.voice == CLUB]
    texts += [" ".join((skill.name, *skill.aka)) for skill in words.skills.values()]
    texts += [" ".join((item.name, *item.aliases)) for item in words.equipment.values()]
    return dict(Counter(re.findall(r"[^\W\d_]+", plain(" ".join(texts)))))


TITLE_WEIGHT = 3
"""How often the words of a title count beside those of the body."""


def card_terms(card: Card) -> list[str]:
    """Return the terms by which a card is found."""
    return terms(card.title) * TITLE_WEIGHT + terms(" ".join(card.sections.values()))


def said_of(fault: Fault) -> tuple[str, ...]:
    """Return everything that is said of a fault: its name and the ways it is heard."""
    return (fault.name, *fault.heard_as)


def fault_terms(fault: Fault) -> list[str]:
    """Return the terms by which a fault is found: its name, its picture and every way it is said."""
    causes = " ".join(cause.name for cause in fault.causes)
    return terms(" ".join((fault.name, fault.looks_like, causes, *fault.heard_as)))


def _card_row(card: Card, rungs: dict[str, Any]) -> Row:
    place = ladder_place(card, rungs[card.skills[0]])
    low, high = card.levels
    return {
        "id": card.id,
        "title": card.title,
        "event": card.event,
        "level_low": low,
        "level_high": high,
        "stage": card.stage,
        "spotting": card.spotting.grade,
        "spotters": card.spotting.spotters,
        "wrists": card.load.wrists,
        "landings": card.load.landings,
        "minutes": card.group.minutes,
        "reps": card.group.reps,
        "cap": card.cap,
        "ready_when": card.ready_when,
        "no_spot_twin": card.no_spot_twin,
        "sources": card.sources,
        "file": card.file,
        "skill": place.skill,
        "rung": place.rung,
        "rungs": place.of,
        "json": _json(card),
    }


def _fault_row(fault: Fault) -> Row:
    return {
        "id": fault.id,
        "event": fault.event,
        "phase": fault.phase,
        "name": fault.name,
        "looks_like": fault.looks_like,
        "deduction": fault.deduction,
        "json": _json(fault),
    }


def _equipment_row(item: Any) -> Row:
    length, width, height = item.cm
    return {
        "id": item.id,
        "name": item.name,
        "kind": item.kind,
        "length_cm": length,
        "width_cm": width,
        "height_cm": height,
        "lands": item.lands,
        "stand_ins": ", ".join(item.instead),
        "source": item.source,
    }


def _passage_rows(passages: Sequence[Passage], hashes: Sequence[str]) -> Iterable[Row]:
    for number, (passage, digest) in enumerate(zip(passages, hashes, strict=True)):
        yield {"id": number, "card": passage.card, "heading": passage.heading, "text": passage.text, "hash": digest}


def _phrase_rows(phrases: Phrases, hashes: Sequence[str]) -> Iterable[Row]:
    for number, ((fault, text), digest) in enumerate(zip(phrases, hashes, strict=True)):
        yield {"id": number, "fault": fault, "text": text, "hash": digest}


def _full_text(db: Any, collection: Collection) -> None:
    """SQLite's own full-text search over cards and faults, for the pages and as the baseline of measurements."""
    cards = [
        {
            "card": card.id,
            "title": card.title,
            "body": "\n".join(f"{name}: {text}" for name, text in card.sections.items()),
        }
        for card in collection.cards.values()
    ]
    faults = [
        {"fault": fault.id, "name": fault.name, "body": "\n".join((fault.looks_like, *fault.heard_as))}
        for fault in collection.vocabulary.faults.values()
    ]
    for table, rows, columns in (("card_text", cards, ("title", "body")), ("fault_text", faults, ("name", "body"))):
        _insert(db, table, rows, (table.removesuffix("_text"),))
        if rows:
            db[table].enable_fts(list(columns), tokenize="porter")


def _insert(db: Any, name: str, rows: Iterable[Row], keys: tuple[str, ...]) -> None:
    pk: Any = keys[0] if len(keys) == 1 else (keys or None)
    listed = list(rows)
    if listed:
        db[name].insert_all(listed, pk=pk)
    else:  # an empty table still answers questions
        db[name].create(dict.fromkeys(keys or ("id",), str), pk=pk)


def _json(value: Any) -> str:
    return msgspec.json.encode(value).decode()

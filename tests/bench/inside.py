"""What happens inside a running process: one question, and building the index."""

import csv
import datetime
import os
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from unittest import mock

import kb
from kb.facade import Library
from kb.library.files import starter_library

QUESTIONS = (
    "piking on vault landing",
    "short handstand on beam",
    "sits down on her front stride circle",
    "roundoff lands chest down",
    "she folds just before her back hits the mat",
    "bends her arms in the cast",
    "wobbles on every step on the beam",
    "my legs come apart when I go upside down",
    "afraid to jump to the high bar",
    "slows down before the board",
)


def grown(folder: Path, cards: int) -> Path:
    """Return a copy of the starter library with its cards repeated under new ids until there are `cards`."""
    library = folder / "grown"
    shutil.copytree(starter_library(), library, ignore=shutil.ignore_patterns(".drillkb"))
    files = sorted(path for path in library.glob("*/*.md") if path.parent.name not in ("vocabulary",))
    for number in range(cards - len(files)):
        path = files[number % len(files)]
        text = path.read_text("utf-8").replace("\ntitle: ", f"\ntitle: Group {number} ", 1)
        path.with_name(f"{path.stem}-copy-{number}.md").write_text(text, "utf-8")
    return library


def milliseconds(library: Library, rounds: int = 20) -> list[float]:
    """Return the sorted time in ms of every question asked `rounds` times, caches warm."""
    for question in QUESTIONS:
        library.ask(question)
    taken = []
    for _ in range(rounds):
        for question in QUESTIONS:
            start = time.perf_counter()
            library.ask(question)
            taken.append((time.perf_counter() - start) * 1000)
    return sorted(taken)


def questions() -> dict[str, float]:
    """Time one question with the starter library and with a library of 1,000 cards."""
    found: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, library in (
            ("starter", kb.open_library()),
            ("1,000 cards", kb.open_library(grown(Path(folder), 1000))),
        ):
            taken = milliseconds(library)
            found[f"question, {name}, median ms (under 10)"] = statistics.median(taken)
            found[f"question, {name}, p95 ms"] = taken[int(len(taken) * 0.95)]
    return found


def indexing() -> dict[str, float]:
    """Time the index of the starter library from nothing, and after one edited card."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "drills"
        shutil.copytree(starter_library(), copy, ignore=shutil.ignore_patterns(".drillkb"))
        library = kb.open_library(copy)
        start = time.perf_counter()
        first = library.rebuild()
        whole = time.perf_counter() - start
        card = sorted(copy.glob("beam/*.md"))[0]
        card.write_text(card.read_text("utf-8").replace("## Set up\n", "## Set up\nTurn the mat first. ", 1), "utf-8")
        start = time.perf_counter()
        second = library.rebuild()
        again = time.perf_counter() - start
    return {
        "cards": first.cards,
        "index from nothing, s": whole,
        "index after one edit, s": again,
        "after one edit / from nothing": again / whole,
        "cards encoded after one edit": len(second.encoded),
    }


def figures() -> dict[str, float]:
    """Time the drawing of every figure of the starter library as SVG."""
    from kb.draw.card import card_svg

    found = kb.open_library().collection
    taken = []
    for card in found.cards.values():
        start = time.perf_counter()
        card_svg(card, found.vocabulary)
        taken.append((time.perf_counter() - start) * 1000)
    return {
        "figures": len(taken),
        "one figure, median ms (under 20)": statistics.median(taken),
        "one figure, slowest ms": max(taken),
        "all figures, s (under 10)": sum(taken) / 1000,
    }


def sizes() -> dict[str, float]:
    """Time the sizes of every station of the starter library, built from the demo club's kit."""
    from kb.size import child_of, station_sizes

    library = kb.open_library()
    kit = library.kit_list(starter_library() / "kits" / "larkmoor.yaml")
    taken = []
    for name in library.index.card_ids:
        card = library.card(name)
        if card.size:
            start = time.perf_counter()
            station_sizes(card, [child_of(128, None)], library.vocabulary, kit, advise=False)
            taken.append((time.perf_counter() - start) * 1000)
    return {
        "stations": len(taken),
        "one station, median ms": statistics.median(taken),
        "one station, slowest ms": max(taken),
    }


def practice_log() -> dict[str, float]:
    """Time a practice log of five years (25,000 entries): reading, writing one more, a question with and without it."""
    from kb.log.file import append, read_log
    from kb.model.log import LogEntry

    library = kb.open_library()
    day = datetime.date(2021, 1, 1)
    found: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, mock.patch.dict(os.environ, DRILLKB_LOG=f"{folder}/practice.jsonl"):
        path = library.log_file
        found["question without a log, median ms"] = statistics.median(milliseconds(library))
        append(path, LogEntry(0, day, library.index.card_ids[0], "helped", "Slate"))
        head, line = path.read_bytes().splitlines(keepends=True)
        path.write_bytes(head + line * 25_000)
        found["question with 25,000 entries, median ms"] = statistics.median(milliseconds(library))
        for name, call in (
            ("read, ms", lambda: read_log(path)),
            ("write one entry, ms", lambda: append(path, LogEntry(0, day, "a", "helped"))),
            ("report by week, ms", lambda: library.log_report("week")),
        ):
            start = time.perf_counter()
            call()
            found[name] = (time.perf_counter() - start) * 1000
    return found


def imports() -> dict[str, float]:
    """Time the plan of importing a table of 1,000 drills, all clean, and the holes of the starter library."""
    from kb.keep.fields import all_fields, card_fields

    library = kb.open_library()
    cards = list(library.collection.cards.values())
    words = sorted(library.index.words)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drills.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(all_fields())
            for number in range(1000):
                own = " ".join(words[(number * 37 + step * 101) % len(words)] for step in range(60))
                fields = card_fields(cards[number % len(cards)])
                fields |= {"id": "", "title": f"{own[:60]} {number}", "Do": f"1. {own}", "figure": ""}
                writer.writerow(fields.values())
        start = time.perf_counter()
        plan = library.plan_import(path)
        took = time.perf_counter() - start
    start = time.perf_counter()
    gaps = library.gaps()
    return {
        "rows that come in": len(plan.coming),
        "a row, ms": took,
        "gaps": len(gaps),
        "all gaps, words asked, s": time.perf_counter() - start,
    }

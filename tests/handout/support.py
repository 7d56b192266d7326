"""What the tests of the sheets share: sheets of every kind, and readers that had no part in writing them."""

import io
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pypdf
import pytest

from kb.facade import Library
from kb.model import Sheet, SheetOrder

ROOT = Path(__file__).parents[2]
KIT = ROOT / "drills" / "kits" / "larkmoor.yaml"
SQUADS = ROOT / "drills" / "demo" / "groups.yaml"
DAY = "2026-11-05"
QUESTIONS = ("piking on vault landing", "short handstand on beam")
LINK = "https://example.org/larkmoor"
PAPER_POINTS = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
"""ISO 216: 210 × 297 mm; ANSI: 8.5 × 11 in; a point is 1/72 in."""
HOSTILE = (ROOT / "tests" / "fixtures" / "handout" / "hostile.txt").read_text("utf-8").splitlines()
needs_poppler = pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")


def four(library: Library) -> tuple[str, ...]:
    """Return four drills, one an event, with sizes."""
    found: dict[str, str] = {}
    for name in library.index.card_ids:
        card = library.card(name)
        if card.size and card.event != "shapes":
            found.setdefault(card.event, name)
    return tuple(found.values())


def orders(library: Library) -> dict[str, SheetOrder]:
    """Return an order of every kind."""
    cards = four(library)
    return {
        "clinic": SheetOrder(questions=QUESTIONS, level=4, height=128, kit=KIT, date=DAY, link=LINK),
        "station": SheetOrder(cards=cards, kind="station", squad=SQUADS, group="Slate", kit=KIT, date=DAY, link=LINK),
        "pocket": SheetOrder(cards=cards, kind="pocket", height=120, date=DAY, club="Larkmoor", link=LINK),
        "book": SheetOrder(event="vault", level=3, date=DAY, link=LINK),
        "ladder": SheetOrder(ladder="kip", level=4, date=DAY, link=LINK),
    }


def reader(pdf: bytes) -> pypdf.PdfReader:
    """Open a PDF with a library that did not write it."""
    return pypdf.PdfReader(io.BytesIO(pdf))


def squeezed(text: str) -> str:
    """Return text without spaces, line ends and break marks: what is left when lines are broken anywhere."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def with_text(sheet: Sheet, change: Callable[[str], str]) -> Sheet:
    """Return a sheet with every text on it changed; ids, drawings, dates and addresses stay."""
    kept = {"id", "item", "drill", "drills", "picture", "svg", "url", "kind", "date", "picture_says"}

    def changed(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            section = "blocks" in value  # its name is a heading of the card format
            return {n: inner if section and n == "name" else changed(inner, n) for n, inner in value.items()}
        if isinstance(value, list | tuple):
            if key == "drills" and value and isinstance(value[0], dict):
                return [changed(inner) for inner in value]
            return value if key in kept else [changed(inner, key) for inner in value]
        return change(value) if isinstance(value, str) and value and key not in kept else value

    return msgspec.convert(changed(msgspec.to_builtins(sheet)), Sheet)


def texts(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield every text of plain data with the name of its field."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from texts(inner, name)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from texts(inner, key)
    elif isinstance(value, str):
        yield key, value

"""A sheet as PDF, by typst: the words go in as data, never as markup."""

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec

from kb.errors import SheetUnprintable
from kb.handout.labels import LABELS
from kb.handout.pages import PAGES
from kb.handout.plain import FONTS, printable
from kb.model.sheet import Paper, Sheet

PAPERS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
STANDARD = "ua-1"
"""PDF/UA-1: title, language, reading order and a description of every picture, for screen readers."""
IDS = ("id", "drill", "drills", "item", "url")
"""What is looked up and not only printed."""
UNBROKEN = re.compile(r"\S{28}(?=\S)")
"""A word too long for a narrow column: it may be broken after so many letters."""


def sheet_pdf(sheet: Sheet, paper: Paper = "a4") -> bytes:
    """Return the sheet as a tagged PDF; the same bytes for the same sheet. Raises SheetUnprintable."""
    inputs = {
        "sheet": msgspec.json.encode(for_print(msgspec.to_builtins(sheet))).decode(),
        "labels": msgspec.json.encode(LABELS).decode(),
        "paper": PAPERS[paper],
    }
    return set_pdf(PAGES / "main.typ", inputs)


def set_pdf(main: Path, inputs: dict[str, str]) -> bytes:
    """Return what typst makes of a page file and the data for it. Raises SheetUnprintable."""
    order = {
        "main": str(main),
        "root": str(PAGES),
        "fonts": str(FONTS),
        "standard": STANDARD,
        "inputs": inputs,
    }
    done = subprocess.run(  # noqa: S603 - our own file, and what people wrote goes in as data
        [sys.executable, str(PAGES / "typeset.py")], input=msgspec.json.encode(order), capture_output=True, check=False
    )
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise SheetUnprintable(said[-1] if said else f"it ended with {done.returncode}")
    return done.stdout


def for_print(value: Any, key: str = "") -> Any:
    """Return plain data with every text made printable; drawings use the typeface of the sheet."""
    if isinstance(value, dict):
        return {name: for_print(inner, name) for name, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [for_print(inner, key) for inner in value]
    if not isinstance(value, str):
        return value
    if key in ("picture", "svg"):
        return printable(value.replace('font-family="sans-serif"', 'font-family="Inter"', 1))
    return printable(value) if key in IDS else UNBROKEN.sub("\\g<0>\u200b", printable(value))

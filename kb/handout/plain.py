"""What people wrote, made fit for print: one line, no control characters, and only what the typefaces can show."""

import unicodedata
from bisect import bisect_right
from functools import cache
from pathlib import Path

FONTS = Path(__file__).parent / "fonts"
"""The typefaces of every sheet."""
COVERED = FONTS / "covered.txt"
"""First and last code point of every run that they have, in hexadecimal; written with them."""
MISSING = "\N{WHITE SQUARE}"
"""What is printed for a character that no typeface here has."""


def clean(text: str) -> str:
    """Return one line of text without control and direction characters and broken halves, single spaces between words.

    Every other character stays as it is.
    """
    kept = "".join(_kept(letter) for letter in unicodedata.normalize("NFC", text))
    return " ".join(kept.split())


def _kept(letter: str) -> str:
    kind = unicodedata.category(letter)
    if kind == "Cs":
        return MISSING
    if kind in ("Cc", "Zl", "Zp"):
        return " "
    return "" if kind == "Cf" else letter


def printable(text: str) -> str:
    """Return text with a mark in place of each character that the typefaces do not have."""
    if text.isascii():
        return text
    return "".join(letter if letter.isascii() or is_covered(letter) else MISSING for letter in text)


def is_covered(letter: str) -> bool:
    """Say whether the typefaces have a character."""
    starts, ends = _covered()
    place = bisect_right(starts, ord(letter)) - 1
    return place >= 0 and ord(letter) <= ends[place]


@cache
def _covered() -> tuple[list[int], list[int]]:
    runs = [line.split() for line in COVERED.read_text("utf-8").splitlines()]
    return [int(first, 16) for first, _ in runs], [int(last, 16) for _, last in runs]

"""Does a text look as if it names a person? A question to the coach, not a proof: a list and capital letters."""

import re
from collections.abc import Container
from functools import cache
from pathlib import Path

_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?\.?(?:-[^\W\d_]+)*")
_ENDS_SENTENCE = re.compile(r"[.!?:(\"“]\s*$")
_ORDINARY = frozenset(
    "monday tuesday wednesday thursday friday saturday sunday january february march april may june july august "
    "september october november december i i'm i'll i've i'd coach level group squad team".split()
)
"""Words that are written with a capital letter and name nobody."""


def person_named(text: str, known: Container[str]) -> str | None:
    """Return the words of a text that look like a person's name, or None.

    These look like one: a given name of the list, however it is written; two capitalised words side by side; a capital
    letter with a point before a capitalised word; a capitalised word inside a sentence. Words in `known` (lower case:
    the library's words, squads) do not, unless they stand in the list.
    """
    found = list(_WORD.finditer(text))
    for place, match in enumerate(found):
        word = _bare(match[0])
        if given_names().intersection(word.lower().split("-")):
            return word
        if not _like_name(match[0], known):
            continue
        after = found[place + 1] if place + 1 < len(found) else None
        if after and _side_by_side(text, match, after) and _like_name(after[0], known):
            return f"{word} {_bare(after[0])}"
        if place and not _ENDS_SENTENCE.search(text[: match.start()]):
            return word
    return None


@cache
def given_names() -> frozenset[str]:
    """Return the list of given names, in lower case."""
    lines = (Path(__file__).parent / "given-names.txt").read_text("utf-8").splitlines()
    return frozenset(name for line in lines if not line.startswith("#") for name in line.split())


def _bare(word: str) -> str:
    """Return a word without its point and its possessive."""
    return re.sub(r"['’]s$", "", word.rstrip("."))


def _like_name(written: str, known: Container[str]) -> bool:
    """Say whether a word is written like a name: a capital letter and small ones, and not known; or an initial."""
    word = _bare(written)
    if len(word) == 1:
        return word.isupper() and written.endswith(".")
    lower = word.lower()
    return word[0].isupper() and not word.isupper() and lower not in _ORDINARY and lower not in known


def _side_by_side(text: str, one: "re.Match[str]", two: "re.Match[str]") -> bool:
    between = text[one.end() : two.start()]
    return not between.strip() and (not one[0].endswith(".") or len(one[0]) == 2)

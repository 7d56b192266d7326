"""Stop-and-refer signs in a question: named, never graded, and never answered with a drill."""

import re
from collections.abc import Iterable
from functools import lru_cache

from kb.index.words import plain
from kb.model import Caution, StopSign


def stop_sign(text: str, cautions: Iterable[Caution]) -> StopSign | None:
    """Return the first sign that the words give, in the order of the vocabulary, or None."""
    words = " ".join(plain(text).replace("’", "'").split())
    for caution in cautions:
        heard = _heard(words, caution)
        if heard:
            return StopSign(caution.id, caution.name, heard, caution.say, caution.source)
    return None


def _heard(words: str, caution: Caution) -> str | None:
    for pattern in caution.ignore:
        words = _compiled(pattern).sub(" ", words)
    found = (match for pattern in caution.patterns if (match := _compiled(pattern).search(words)))
    first = next(found, None)
    return first.group(0).strip() if first else None


@lru_cache(maxsize=500)
def _compiled(pattern: str) -> "re.Pattern[str]":
    return re.compile(pattern)

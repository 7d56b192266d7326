"""Stop-and-refer signs in a question: named, never graded, and never answered with a drill."""

import re
from collections.abc import Sequence
from functools import lru_cache

from kb.index.words import plain
from kb.model import Caution, StopSign, Vocabulary


def stop_sign(texts: Sequence[str], words: Vocabulary) -> StopSign | None:
    """Return the first sign that the words give, in the order of the vocabulary, or None.

    texts: the question as typed, and with its spelling mended; a sign in either counts.
    """
    no_sign = words.reading.no_sign if words.reading else ()
    cleaned = [_without(_plain(text), no_sign) for text in texts]
    for caution in words.cautions.values():
        heard = next((found for text in cleaned if (found := _heard(text, caution))), None)
        if heard:
            return StopSign(caution.id, caution.name, heard, caution.say, caution.source)
    return None


def _plain(text: str) -> str:
    return " ".join(plain(text).replace("’", "'").split())


def _without(text: str, patterns: tuple[str, ...]) -> str:
    for pattern in patterns:
        text = _compiled(pattern).sub(" ", text)
    return text


def _heard(text: str, caution: Caution) -> str | None:
    found = (match for pattern in caution.patterns if (match := _compiled(pattern).search(text)))
    first = next(found, None)
    return " ".join(first.group(0).split()) if first else None


@lru_cache(maxsize=500)
def _compiled(pattern: str) -> "re.Pattern[str]":
    return re.compile(pattern)

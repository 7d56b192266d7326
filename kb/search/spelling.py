"""Mend spelling against the words of the library: mistyped, glued and split words, typed with chalk on the thumbs."""

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from itertools import pairwise

SHORTEST = 3
"""Letters of a word from which it is mended; shorter ones are too easily another word."""
COMMON = 30
"""How often a word must stand in the library for a word of three letters to be mended towards it."""
LONG = 7
"""Letters from which two mistakes are mended instead of one."""
SEEN = 2
"""How often a word must stand in the library to be worth mending towards."""
OFTEN = 5
"""How often a word must stand in the library to glue two words together into it."""

IsWord = Callable[[str], bool]
Correction = tuple[str, str]
_TOKEN = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?")


class Speller:
    """Mends words that neither the library nor general English has.

    Args:
        counts: words of the library in lower case and how often they stand in it.
        is_word: says whether a word is one of general English; such a word is left as it is.
    """

    def __init__(self, counts: Mapping[str, int], is_word: IsWord) -> None:
        self.counts = counts
        self.is_word = is_word
        self.targets = sorted(word for word, count in counts.items() if count >= SEEN and len(word) > SHORTEST)
        self.common = [word for word in self.targets if counts[word] >= COMMON]
        self._mended = lru_cache(maxsize=5_000)(self._look_up)

    def mend(self, text: str) -> tuple[str, tuple[Correction, ...]]:
        """Return the text with its spelling mended, and each mended piece as typed and as read."""
        corrections: list[Correction] = []
        joined = self._join(text, corrections)

        def mended(match: "re.Match[str]") -> str:
            word = match.group(0)
            better = self._mended(word.lower())
            if better is None:
                return word
            corrections.append((word, better))
            return better

        return _TOKEN.sub(mended, joined), tuple(corrections)

    def _join(self, text: str, corrections: list[Correction]) -> str:
        words = list(_TOKEN.finditer(text))
        for left, right in reversed(list(pairwise(words))):
            glued = (left.group(0) + right.group(0)).lower()
            between = text[left.end() : right.start()]
            if (
                between == " "
                and len(glued) >= LONG
                and self.counts.get(glued, 0) >= OFTEN
                and self._apart(left, right)
            ):
                corrections.append((f"{left.group(0)} {right.group(0)}", glued))
                text = text[: left.start()] + glued + text[right.end() :]
        return text

    def _apart(self, left: "re.Match[str]", right: "re.Match[str]") -> bool:
        """Say whether two words should be one: at least one of them is rare by itself in the library."""
        return min(self.counts.get(word.group(0).lower(), 0) for word in (left, right)) < OFTEN * 4

    def _look_up(self, word: str) -> str | None:
        if len(word) < SHORTEST or "'" in word or "’" in word or word in self.counts or self.is_word(word):
            return None
        return self._close(word) or self._split(word)

    def _close(self, word: str) -> str | None:
        from rapidfuzz.distance import OSA
        from rapidfuzz.process import extract

        most = 2 if len(word) >= LONG else 1
        targets = self.targets if len(word) > SHORTEST else self.common
        found = extract(word, targets, scorer=OSA.distance, score_cutoff=most, limit=8)
        best = min(found, key=lambda hit: (hit[1], hit[0][0] != word[0], -self.counts[hit[0]], hit[0]), default=None)
        return best[0] if best else None

    def _split(self, word: str) -> str | None:
        cuts = [(word[:n], word[n:]) for n in range(2, len(word) - 1)]
        whole = [cut for cut in cuts if all(self.counts.get(part, 0) >= OFTEN for part in cut)]
        best = max(whole, key=lambda cut: min(self.counts[part] for part in cut), default=None)
        return " ".join(best) if best else None

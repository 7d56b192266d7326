"""Words as search sees them, and BM25 over them.

SQLite's own FTS5 ranking gives a word that stands in half of the cards a weight of nothing, so that 'handstand' would
rank no card in a small library. Here the inverse document frequency is ln(1 + (N - n + 0.5) / (n + 0.5)), which is
never zero (Lucene's form of Robertson and Sparck Jones's weight).
"""

import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

K1, B = 1.2, 0.75
"""The usual BM25 settings, those of FTS5 and Lucene."""

GRAM_SIZES = (3, 4, 5)
"""Letters in a run."""

_WORD = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")
STOP_WORDS = frozenset(
    (
        "a an and are as at be been but by for from had has have her hers him his i if in into is it its me "
        "my of on or our she so than that the their them then there they this to too was we were when which "
        "while who will with you your"
    ).split()
)


def terms(text: str) -> list[str]:
    """Return the terms of a text: lower case, without accents, stemmed; 'round-off' gives round, off and roundoff."""
    found: list[str] = []
    for word in _WORD.findall(plain(text)):
        parts = [part for part in re.split(r"['’-]", word) if part]
        if len(parts) > 1 and "-" in word:
            found.append(stem("".join(parts)))
        kept = parts if "-" in word else ["".join(parts)]
        found += [stem(part) for part in kept if part not in STOP_WORDS]
    return found


def grams(text: str) -> list[str]:
    """Return the runs of three to five letters inside each word, with its borders: they survive typing errors."""
    found: list[str] = []
    for word in re.findall(r"[^\W_]+", plain(text)):
        if word not in STOP_WORDS:
            edged = f"<{word}>"
            found += [edged[at : at + size] for size in GRAM_SIZES for at in range(len(edged) - size + 1)]
    return found


def plain(text: str) -> str:
    """Return the text in lower case and without accents."""
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.lower())
    return "".join(char for char in decomposed if not unicodedata.combining(char))


@lru_cache(maxsize=50_000)
def stem(word: str) -> str:
    """Return the English stem of a word (Porter2)."""
    return str(_stemmer().stemWord(word))


@lru_cache(maxsize=1)
def _stemmer() -> Any:
    import snowballstemmer

    return snowballstemmer.stemmer("english")


class Postings:
    """For each term the documents that hold it, with BM25 impacts worked out beforehand.

    documents: number of documents; a document's number is its place in the list that was indexed.
    """

    def __init__(
        self, documents: int, terms_to_postings: dict[str, tuple[NDArray[np.int32], NDArray[np.float32]]]
    ) -> None:
        self.documents = documents
        self.table = terms_to_postings

    @classmethod
    def build(cls, texts: Sequence[Iterable[str]]) -> "Postings":
        """Index documents given as lists of terms."""
        counts = [Counter(text) for text in texts]
        lengths = [sum(count.values()) for count in counts]
        average = sum(lengths) / len(lengths) if lengths and sum(lengths) else 1.0
        where: dict[str, list[tuple[int, float]]] = {}
        for number, count in enumerate(counts):
            norm = K1 * (1 - B + B * lengths[number] / average)
            for term, often in count.items():
                where.setdefault(term, []).append((number, often * (K1 + 1) / (often + norm)))
        total = len(counts)
        table = {
            term: (
                np.array([number for number, _ in found], dtype=np.int32),
                np.array([impact * idf(total, len(found)) for _, impact in found], dtype=np.float32),
            )
            for term, found in where.items()
        }
        return cls(total, table)

    def scores(self, query: Iterable[str]) -> NDArray[np.float32]:
        """Return the BM25 score of every document for the query's terms; shape (documents,)."""
        total = np.zeros(self.documents, dtype=np.float32)
        for term in query:
            if term in self.table:
                numbers, impacts = self.table[term]
                total[numbers] += impacts
        return total


def idf(documents: int, holding: int) -> float:
    """Return the weight of a term that `holding` of `documents` documents hold; never zero."""
    return math.log(1 + (documents - holding + 0.5) / (holding + 0.5))

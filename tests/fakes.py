"""Stand-ins for slow parts, for tests of what is around them."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from kb.index.words import terms
from kb.library import load_collection
from kb.model import Card


class BagEncoder:
    """An encoder that adds up one fixed random vector a word: alike words, alike vectors; no model needed."""

    name = "bag"
    dimension = 64
    window = 100

    def __init__(self, fingerprint: str = "bag-1") -> None:
        self.fingerprint = fingerprint
        self.encoded: list[str] = []

    def encode(self, texts: Sequence[str]) -> NDArray[np.float32]:
        """Return unit vectors, shape (texts, 64), and remember what was asked for."""
        self.encoded += texts
        rows = np.zeros((len(texts), self.dimension), dtype=np.float32)
        for number, text in enumerate(texts):
            for term in terms(text) or [""]:
                seed = int.from_bytes(hashlib.sha256(term.encode()).digest()[:4], "big")
                rows[number] += np.random.default_rng(seed).standard_normal(self.dimension).astype(np.float32)
        return np.asarray(rows / np.linalg.norm(rows, axis=1, keepdims=True), dtype=np.float32)

    def count_tokens(self, text: str) -> int:
        """One token a word."""
        return len(text.split())

    def is_word(self, word: str) -> bool:
        """No word is known by itself."""
        del word
        return False

    def fits(self, text: str) -> bool:
        """Say whether the text is inside the window."""
        return self.count_tokens(text) <= self.window


def small_card() -> Card:
    """Return the first card of the small library."""
    return next(iter(load_collection(Path(__file__).parent / "fixtures" / "small").cards.values()))

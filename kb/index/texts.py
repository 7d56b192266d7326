"""Everything of a library that is put in front of the encoder, and the vectors that come back."""

import hashlib
from collections.abc import Callable, Mapping

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from kb.index.encode import Encoder
from kb.index.passages import Passage, card_passages
from kb.library import Collection
from kb.library.said import CLUB

CHUNK = 64
"""Texts encoded between two reports of progress."""

Progress = Callable[[int, int], None]
"""Called with texts encoded so far and texts to encode in all."""


class Texts(Struct, frozen=True):
    """The passages of cards and the phrases of faults, in the order of their row numbers."""

    passages: tuple[Passage, ...]
    phrases: tuple[tuple[str, str], ...]
    """Fault and the way it is said."""

    @property
    def all(self) -> list[tuple[str, str]]:
        """Owner (card or fault) and text of every row, passages first."""
        return [(passage.card, passage.text) for passage in self.passages] + list(self.phrases)


class Encoded(Struct, frozen=True):
    """Texts with their vectors."""

    texts: Texts
    hashes: tuple[str, ...]
    """Key of the vector of every row, passages first."""
    vectors: Mapping[str, bytes]
    new: Mapping[str, str]
    """Key to owner, for the texts that had to be encoded now."""

    def rows(self, dimension: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Return the vectors of passages and of phrases, each of shape (rows, dimension)."""
        blob = b"".join(self.vectors[digest] for digest in self.hashes)
        matrix = np.frombuffer(blob, dtype=np.float32).reshape(-1, dimension)
        cut = len(self.texts.passages)
        return matrix[:cut], matrix[cut:]


def text_hash(text: str) -> str:
    """Return the key under which the vector of a text is kept."""
    return hashlib.sha256(text.encode()).hexdigest()


def collect_texts(collection: Collection, encoder: Encoder) -> Texts:
    """Cut every card into passages that the encoder can hold, and list every way a fault is said."""
    passages = (passage for card in collection.cards.values() for passage in card_passages(card, encoder.fits))
    faults = collection.vocabulary.faults.values()
    phrases = [(fault.id, said) for fault in faults for said in (fault.name, *fault.heard_as)]
    heard = [one for many in collection.said.values() for one in many if one.voice == CLUB]
    return Texts(tuple(passages), (*phrases, *((one.fault, one.text) for one in heard)))


def encode_texts(texts: Texts, encoder: Encoder, known: Mapping[str, bytes], progress: Progress | None) -> Encoded:
    """Return the vector of every text; only those that `known` lacks are encoded."""
    rows = texts.all
    hashes = tuple(text_hash(text) for _, text in rows)
    new = {digest: row for digest, row in zip(hashes, rows, strict=True) if digest not in known}
    fresh = _encode({digest: text for digest, (_, text) in new.items()}, encoder, progress)
    vectors = {digest: fresh.get(digest) or known[digest] for digest in hashes}
    return Encoded(texts, hashes, vectors, {digest: owner for digest, (owner, _) in new.items()})


def _encode(new: Mapping[str, str], encoder: Encoder, progress: Progress | None) -> dict[str, bytes]:
    digests = sorted(new, key=lambda digest: len(new[digest]))  # like lengths together: less padding
    found: dict[str, bytes] = {}
    for start in range(0, len(digests), CHUNK):
        part = digests[start : start + CHUNK]
        vectors = encoder.encode([new[digest] for digest in part])
        found.update({digest: vector.tobytes() for digest, vector in zip(part, vectors, strict=True)})
        if progress:
            progress(len(found), len(digests))
    return found

"""Build the index of a collection beside the old one and swap it in; only texts that are new are encoded."""

import hashlib
import os
import sqlite3
import uuid
from collections.abc import Callable
from pathlib import Path

import numpy as np
from msgspec import Struct

from kb.errors import IndexUnusable
from kb.index import tables
from kb.index.encode import Encoder
from kb.index.home import DATABASE, NEIGHBOURS, index_home, sources_stamp, swap_in, sweep
from kb.index.nearest import FaissIndex, Vectors
from kb.index.neighbours import write_neighbours
from kb.index.passages import Passage, card_passages
from kb.library import Collection, load_collection

FORMAT = 1
"""Changes whenever the tables or what is encoded change; an index of another format is built anew."""
CHUNK = 64
"""Texts encoded between two reports of progress."""

Progress = Callable[[int, int], None]
"""Called with texts encoded so far and texts to encode in all."""


class BuildReport(Struct, frozen=True):
    """What a build did."""

    cards: int
    faults: int
    problems: int
    encoded: tuple[str, ...]
    """Cards and faults for which a text had to be encoded."""
    texts_encoded: int
    texts_reused: int
    generation: str


def build_index(library: Path, encoder: Encoder, progress: Progress | None = None, *, fresh: bool = False) -> BuildReport:
    """Read the library, build its index aside and swap it in.

    Raises LibraryUnusable for a folder that is no library and IndexUnusable when nothing can be written.
    """
    home = index_home(library)
    sweep(home)
    stamp = sources_stamp(library)
    collection = load_collection(library)
    generation = uuid.uuid4().hex
    beside = {name: home / f"{name}.building-{os.getpid()}-{generation[:8]}" for name in (DATABASE, NEIGHBOURS)}
    try:
        report = _write(collection, encoder, generation, stamp, beside, {} if fresh else known_vectors(home, encoder), progress)
        swap_in(home, beside)
    except (OSError, sqlite3.Error) as error:
        raise IndexUnusable(home, f"it cannot be written ({error}). The old index, if any, is untouched.") from None
    finally:
        for path in beside.values():
            path.unlink(missing_ok=True)
    return report


def text_hash(text: str) -> str:
    """Return the key under which the vector of a text is kept."""
    return hashlib.sha256(text.encode()).hexdigest()


def known_vectors(home: Path, encoder: Encoder) -> dict[str, bytes]:
    """Return the vectors of the old index by text, if the same encoder made them."""
    path = home / DATABASE
    if not path.is_file():
        return {}
    try:
        with sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True) as db:
            made_by = db.execute("select value from meta where key = 'encoder'").fetchone()
            if made_by != (encoder.fingerprint,):
                return {}
            return dict(db.execute("select hash, vector from vectors"))
    except sqlite3.Error:
        return {}


class _Texts:
    """Everything to encode: the passages of cards and the phrases of faults."""

    def __init__(self, collection: Collection, encoder: Encoder) -> None:
        self.passages: list[Passage] = [
            passage for card in collection.cards.values() for passage in card_passages(card, encoder.fits)
        ]
        self.phrases = [
            (fault.id, phrase) for fault in collection.vocabulary.faults.values() for phrase in (fault.name, *fault.heard_as)
        ]
        self.owners = [passage.card for passage in self.passages] + [fault for fault, _ in self.phrases]
        self.all = [passage.text for passage in self.passages] + [phrase for _, phrase in self.phrases]
        self.hashes = [text_hash(text) for text in self.all]


def _write(
    collection: Collection,
    encoder: Encoder,
    generation: str,
    stamp: str,
    beside: dict[str, Path],
    known: dict[str, bytes],
    progress: Progress | None,
) -> BuildReport:
    texts = _Texts(collection, encoder)
    new = {digest: (text, owner) for digest, text, owner in zip(texts.hashes, texts.all, texts.owners, strict=True) if digest not in known}
    known = known | _encode(new, encoder, progress)
    used = {digest: known[digest] for digest in texts.hashes}
    meta = {
        "format": str(FORMAT),
        "generation": generation,
        "sources": stamp,
        "encoder": encoder.fingerprint,
        "encoder_name": encoder.name,
        "dimension": str(encoder.dimension),
        "metric": "cosine",
    }
    tables.write_database(beside[DATABASE], collection, texts.passages, texts.phrases, texts.hashes, used, meta)
    rows = np.frombuffer(b"".join(used[digest] for digest in texts.hashes), dtype=np.float32).reshape(-1, encoder.dimension)
    cut = len(texts.passages)
    write_neighbours(beside[NEIGHBOURS], generation, {"passages": _faiss(rows[:cut]), "phrases": _faiss(rows[cut:])})
    return BuildReport(
        cards=len(collection.cards),
        faults=len(collection.vocabulary.faults),
        problems=sum(not problem.warning for problem in collection.problems),
        encoded=tuple(sorted({owner for _, owner in new.values()})),
        texts_encoded=len(new),
        texts_reused=len(set(texts.hashes)) - len(new),
        generation=generation,
    )


def _faiss(rows: Vectors) -> FaissIndex:
    return FaissIndex.build(rows)


def _encode(new: dict[str, tuple[str, str]], encoder: Encoder, progress: Progress | None) -> dict[str, bytes]:
    digests = sorted(new, key=lambda digest: len(new[digest][0]))  # like lengths together: less padding
    found: dict[str, bytes] = {}
    for start in range(0, len(digests), CHUNK):
        part = digests[start : start + CHUNK]
        vectors = encoder.encode([new[digest][0] for digest in part])
        found.update({digest: vector.tobytes() for digest, vector in zip(part, vectors, strict=True)})
        if progress:
            progress(len(found), len(digests))
    return found

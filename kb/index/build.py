"""Build the index of a collection beside the old one and swap it in; only texts that are new are encoded."""

import os
import sqlite3
import uuid
from pathlib import Path

from msgspec import Struct

from kb.errors import IndexUnusable
from kb.index import tables
from kb.index.encode import Encoder
from kb.index.home import DATABASE, FORMAT, NEIGHBOURS, index_home, sources_stamp, swap_in, sweep
from kb.index.nearest import FaissIndex
from kb.index.neighbours import write_neighbours
from kb.index.texts import Encoded, Progress, collect_texts, encode_texts
from kb.library import Collection, load_collection


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


def build_index(
    library: Path, encoder: Encoder, progress: Progress | None = None, *, fresh: bool = False
) -> BuildReport:
    """Read the library, build its index aside and swap it in.

    Raises LibraryUnusable for a folder that is no library and IndexUnusable when nothing can be written.
    """
    home = index_home(library)
    sweep(home)
    stamp = sources_stamp(library)  # before reading: an edit in between is noticed by the next question
    collection = load_collection(library)
    known = {} if fresh else known_vectors(home, encoder)
    encoded = encode_texts(collect_texts(collection, encoder), encoder, known, progress)
    meta = _meta(encoder, stamp)
    _write_and_swap(home, collection, encoded, meta)
    return _report(collection, encoded, meta["generation"])


def known_vectors(home: Path, encoder: Encoder) -> dict[str, bytes]:
    """Return the vectors of the old index by text, if the same encoder made them."""
    path = home / DATABASE
    if not path.is_file():
        return {}
    try:
        with sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True) as db:
            made_by = db.execute("select value from meta where key = 'encoder'").fetchone()
            return dict(db.execute("select hash, vector from vectors")) if made_by == (encoder.fingerprint,) else {}
    except sqlite3.Error:
        return {}


def _meta(encoder: Encoder, stamp: str) -> dict[str, str]:
    return {
        "format": str(FORMAT),
        "generation": uuid.uuid4().hex,
        "sources": stamp,
        "encoder": encoder.fingerprint,
        "encoder_name": encoder.name,
        "dimension": str(encoder.dimension),
        "metric": "cosine",
    }


def _write_and_swap(home: Path, collection: Collection, encoded: Encoded, meta: dict[str, str]) -> None:
    name = f"building-{os.getpid()}-{meta['generation'][:8]}"
    beside = {file: home / f"{file}.{name}" for file in (DATABASE, NEIGHBOURS)}
    try:
        tables.write_database(beside[DATABASE], collection, encoded, meta)
        passages, phrases = (FaissIndex.build(rows) for rows in encoded.rows(int(meta["dimension"])))
        write_neighbours(beside[NEIGHBOURS], meta["generation"], {"passages": passages, "phrases": phrases})
        swap_in(home, beside)
    except (OSError, sqlite3.Error) as error:
        raise IndexUnusable(home, f"it cannot be written ({error}). The old index, if any, is untouched.") from None
    finally:
        for path in beside.values():
            path.unlink(missing_ok=True)


def _report(collection: Collection, encoded: Encoded, generation: str) -> BuildReport:
    return BuildReport(
        cards=len(collection.cards),
        faults=len(collection.vocabulary.faults),
        problems=sum(not problem.warning for problem in collection.problems),
        encoded=tuple(sorted(set(encoded.new.values()))),
        texts_encoded=len(encoded.new),
        texts_reused=len(encoded.vectors) - len(encoded.new),
        generation=generation,
    )

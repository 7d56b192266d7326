"""Open the index of a library, building it first when it is missing, stale or not this program's."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

from kb.errors import IndexUnusable, LibraryUnusable
from kb.index.encode import Encoder
from kb.index.home import DATABASE, FORMAT, index_home, sources_stamp
from kb.index.store import Index
from kb.index.texts import Progress
from kb.library.files import FOLDER

Say = Callable[[str], None]


def open_index(library: Path, encoder: Encoder, say: Say | None = None, progress: Progress | None = None) -> Index:
    """Return an index that fits the folder as it is now.

    `say` hears one line when the index has to be built, with the reason. Raises LibraryUnusable or IndexUnusable.
    """
    if not (library / FOLDER / "events.yaml").is_file():
        raise LibraryUnusable(
            library, "is no drill library: it has no vocabulary/events.yaml. Name one with --library DIR."
        )
    home = index_home(library)
    reason = why_build(home, library, encoder)
    if reason:
        from kb.index.build import build_index  # loads the database builder, which a question does not need

        if say:
            say(reason)
        build_index(library, encoder, progress)
    return Index(home)


def why_build(home: Path, library: Path, encoder: Encoder) -> str | None:
    """Return why the index must be built, in one line, or None when it stands."""
    if not (home / DATABASE).is_file():
        return "Building the index of the library (once; later only what changes)."
    try:
        meta = _meta(home)
    except IndexUnusable as error:
        return f"Building the index again: {error.reason}"
    if meta.get("format") != str(FORMAT):
        return f"Building the index again: it has format {meta.get('format')}, this program writes {FORMAT}."
    if meta.get("encoder") != encoder.fingerprint:
        return f"Building the index again: its encoder was {meta.get('encoder_name')}, now it is {encoder.name}."
    if meta.get("sources") != sources_stamp(library):
        return "The library has changed: bringing the index up to date."
    return None


def _meta(home: Path) -> dict[str, str]:
    path = home / DATABASE
    try:
        with sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True) as db:
            return dict(db.execute("select key, value from meta"))
    except sqlite3.Error as error:
        raise IndexUnusable(path, f"SQLite does not read it ({error}).") from None

"""Where the index of a library lies, and how the two files of one generation are swapped in."""

import hashlib
import os
import time
from pathlib import Path

import msgspec

from kb.errors import IndexUnusable
from kb.library.files import card_files

DATABASE, NEIGHBOURS = "library.db", "library.faiss"
FORMAT = 5
"""Changes whenever the tables or what is encoded change; an index of another format is built anew."""
ABANDONED_AFTER_S = 3600
"""Seconds after which the half-built files of a killed build are swept away."""


def index_home(library: Path) -> Path:
    """Return the folder for the index: inside the library, or in the user's cache when the library is read-only."""
    inside = library / ".drillkb"
    try:
        inside.mkdir(exist_ok=True)
        if os.access(inside, os.W_OK):
            return inside
    except OSError:
        pass
    from platformdirs import user_cache_path

    name = hashlib.sha256(str(library.resolve()).encode()).hexdigest()[:16]
    home = user_cache_path("drillkb") / name
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise IndexUnusable(
            home, f"neither the library nor the cache folder can be written ({error.strerror})."
        ) from None
    return home


def sources_stamp(library: Path) -> str:
    """Return a stamp of every file that the index is made from: it changes when one is edited, added or removed."""
    files = card_files(library) + sorted((library / "vocabulary").rglob("*.*"))
    seen = [(path.relative_to(library).as_posix(), (stat := path.stat()).st_size, stat.st_mtime_ns) for path in files]
    return hashlib.sha256(msgspec.json.encode(seen)).hexdigest()


def swap_in(home: Path, beside: dict[str, Path]) -> None:
    """Move freshly built files over the old ones; the database last, since it says which neighbours belong to it."""
    for name in sorted(beside, key=lambda name: name == DATABASE):
        beside[name].replace(home / name)


def sweep(home: Path) -> None:
    """Remove what killed builds left behind, once it is old enough to be nobody's."""
    for path in home.glob("*.building-*"):
        if time.time() - path.stat().st_mtime > ABANDONED_AFTER_S:
            path.unlink(missing_ok=True)

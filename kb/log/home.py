"""Where the practice log of a library lies."""

import hashlib
import os
from pathlib import Path

from kb.library.files import starter_library

VARIABLE = "DRILLKB_LOG"
"""Environment variable that names the log's file when it is to lie elsewhere."""
FOLDER, NAME = ".drillkb-log", "practice.jsonl"


def log_path(library: Path) -> Path:
    """Return the log's file: the one that DRILLKB_LOG names, else inside the library, else in the user's data folder.

    A log that is there already is found wherever it is, so that a library which becomes writable, or no longer is,
    keeps its log. The starter library's log is always in the user's data folder: an upgrade may replace the library.
    """
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser()
    if library.resolve() == starter_library().resolve():
        return _own("starter")
    inside = library / FOLDER / NAME
    if inside.is_file():
        return inside
    own = _own(hashlib.sha256(str(library.resolve()).encode()).hexdigest()[:16])
    return own if own.is_file() or not os.access(library, os.W_OK) else inside


def _own(library: str) -> Path:
    from platformdirs import user_data_path

    return user_data_path("drillkb", appauthor=False) / "log" / library / NAME

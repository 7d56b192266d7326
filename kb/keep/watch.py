"""Watching a library's folder: an edit is in the index, and in an open page, within two seconds."""

import contextlib
import time
from collections.abc import Callable, Generator
from pathlib import Path

HEARTBEAT = "watching"
"""File beside the index that says, by its age, that somebody watches."""
BEAT_S, ALIVE_S = 0.15, 4.0
"""Seconds between two looks, and after which a watcher counts as gone."""


def changes(
    stamp: Callable[[], str], home: Path, wait: Callable[[float], None] | None = None
) -> Generator[str, None, None]:
    """Yield the folder's stamp each time that it has changed, for as long as somebody listens."""
    last = stamp()
    beat = home / HEARTBEAT
    try:
        while True:
            beat.touch()
            (wait or time.sleep)(BEAT_S)
            now = stamp()
            if now != last:
                last = now
                yield now
    finally:
        with contextlib.suppress(OSError):
            beat.unlink(missing_ok=True)


def is_watched(home: Path) -> bool:
    """Say whether somebody watches the folder now."""
    with contextlib.suppress(OSError):
        return time.time() - (home / HEARTBEAT).stat().st_mtime < ALIVE_S
    return False

"""One writer at a time: a lock that the operating system lets go when its holder dies."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kb.errors import FileUnusable

WAIT_S = 10.0
"""Seconds to wait for another writer; a write takes a few thousandths of one."""
PAUSE_S = 0.01


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock of a file. Raises FileUnusable when another program holds it for too long, or OSError.

    The lock is a file beside it, because the file itself may be replaced while the lock is held.
    """
    handle = os.open(path.with_name(f"{path.name}.lock"), os.O_RDWR | os.O_CREAT, 0o666)
    try:
        deadline = time.monotonic() + WAIT_S
        while not _taken(handle):
            if time.monotonic() > deadline:
                raise FileUnusable(path, 0, "is being written by another program; try again in a moment.")
            time.sleep(PAUSE_S)
        yield
    finally:
        os.close(handle)  # which lets the lock go


def _taken(handle: int) -> bool:
    """Try to take the lock; False while somebody else has it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True

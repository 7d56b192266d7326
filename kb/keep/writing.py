"""Writing files so that the old one or the new one stands, whatever happens."""

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from kb.errors import FileUnusable

PATIENCE_S = 10.0
"""Seconds to wait for another that is writing."""
ABANDONED_S = 60.0
"""Seconds after which the lock of a killed program is taken away."""


def write_whole(path: Path, text: str) -> None:
    """Write a text file beside the old one and move it in. Raises FileUnusable; the old file stands then."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as out:
                out.write(text)
                out.flush()
                os.fsync(out.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror}); nothing was changed.") from None


@contextlib.contextmanager
def only_one(path: Path) -> Iterator[None]:
    """Hold a lock beside a file while it is read, changed and written; another waits. Raises FileUnusable."""
    lock = path.with_name(f".{path.name}.lock")
    until = time.monotonic() + PATIENCE_S
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        while True:
            try:
                os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
                break
            except FileExistsError:
                with contextlib.suppress(FileNotFoundError):
                    if time.time() - lock.stat().st_mtime > ABANDONED_S:
                        lock.unlink(missing_ok=True)
                if time.monotonic() > until:
                    text = f"another program is writing it; if none is, remove {lock.name} beside it and try again."
                    raise FileUnusable(path, 0, text) from None
                time.sleep(0.02)
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)

"""Questions that found nothing, or were asked again in other words: kept on this machine, offered for naming.

They lie beside the index, in a file of their own that no rebuild touches. A file called `keep-no-questions` beside it
switches the keeping off.
"""

import contextlib
from pathlib import Path

import msgspec

from kb.errors import FileUnusable
from kb.keep.writing import only_one, write_whole

FILE, OFF = "asked.jsonl", "keep-no-questions"
MOST = 200
"""Questions that are kept; the oldest go first."""
AGAIN_S = 180.0
"""Seconds within which a second question about the same event counts as the first in other words."""


class Asked(msgspec.Struct, frozen=True):
    """One question that was kept."""

    at: float
    """Seconds since 1970."""
    text: str
    why: str
    """'no match' or 'asked again'."""
    event: str | None = None


class Last(msgspec.Struct, frozen=True):
    """A question as it was read; the last one is kept to see whether it is asked again."""

    at: float
    text: str
    event: str | None
    symptom: str


def keeps(home: Path) -> bool:
    """Say whether questions are kept."""
    return not (home / OFF).exists()


def switch(home: Path, *, on: bool) -> None:
    """Keep questions from now on, or keep none and throw away what was kept."""
    if on:
        (home / OFF).unlink(missing_ok=True)
        return
    (home / OFF).touch()
    for name in (FILE, "last-asked.json"):
        (home / name).unlink(missing_ok=True)


def kept(home: Path) -> list[Asked]:
    """Return the questions that were kept, the newest last; lines that cannot be read are left out."""
    found = []
    with contextlib.suppress(OSError):
        for line in (home / FILE).read_text("utf-8", errors="replace").splitlines():
            with contextlib.suppress(msgspec.MsgspecError):
                found.append(msgspec.json.decode(line, type=Asked))
    return found


def note(home: Path, asked: Last, *, found: bool, follows: bool = True) -> None:
    """Keep a question that found nothing, and the one before when this one says it in other words.

    Never raises: what cannot be kept is not kept.
    """
    if not keeps(home) or not asked.text.strip():
        return
    with contextlib.suppress(OSError, FileUnusable, msgspec.MsgspecError):
        if not found:
            _keep(home, Asked(asked.at, asked.text, "no match", asked.event))
        if not follows:
            return
        last_file = home / "last-asked.json"
        last = msgspec.json.decode(last_file.read_bytes(), type=Last) if last_file.exists() else None
        if last and found and _again(last, asked):
            _keep(home, Asked(last.at, last.text, "asked again", last.event))
        write_whole(last_file, msgspec.json.encode(asked).decode())


def forget(home: Path, text: str) -> None:
    """Take a question out of what was kept."""
    with only_one(home / FILE):
        write_whole(home / FILE, "".join(_line(one) for one in kept(home) if one.text.lower() != text.lower()))


def _again(last: Last, now: Last) -> bool:
    """Say whether a question is the last one in other words: soon after, same event, some words the same, not all."""
    other_event = now.event and last.event and now.event != last.event
    if now.at - last.at > AGAIN_S or other_event:
        return False
    before, after = set(last.symptom.lower().split()), set(now.symptom.lower().split())
    return bool(before & after) and before != after


def _keep(home: Path, one: Asked) -> None:
    with only_one(home / FILE):
        others = [old for old in kept(home) if old.text.lower() != one.text.lower()]
        write_whole(home / FILE, "".join(map(_line, [*others, one][-MOST:])))


def _line(one: Asked) -> str:
    return f"{msgspec.json.encode(one).decode()}\n"

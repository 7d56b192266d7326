"""The log's file: nothing that was written is lost, whatever is cut off, full, killed, newer or written at once."""

import datetime
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import FileUnusable, UsageError
from kb.log import lock
from kb.log.file import append, read_log, take_back
from kb.model.log import RESULTS, LogEntry

DAY = datetime.date(2026, 3, 2)


def entry(card: str = "vault-tall-fall", note: str | None = None) -> LogEntry:
    """Make an entry that is not written yet."""
    return LogEntry(0, DAY, card, "helped", "Slate", note=note)


def log_of(path: Path, count: int) -> bytes:
    """Write a log of so many entries and return its bytes."""
    for number in range(count):
        append(path, entry(f"card-{number}", note="half a line, höher" if number % 2 else None))
    return path.read_bytes()


def whole_lines(data: bytes) -> list[dict[str, object]]:
    """Return the lines that Python's own JSON reader reads, the header left out."""
    found = []
    for line in data.split(b"\n"):
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return [line for line in found if "card" in line]


entries = st.builds(
    LogEntry,
    st.just(0),
    st.dates(datetime.date(2000, 1, 1)),
    st.from_regex(r"[a-z0-9]+(-[a-z0-9]+)*", fullmatch=True),
    st.sampled_from(RESULTS),
    st.none() | st.text(min_size=1, max_size=10),
    st.none() | st.integers(1, 99),
    st.none() | st.text(min_size=1, max_size=10),
    st.none() | st.text(min_size=1, max_size=40),
)


@settings(deadline=None, max_examples=25)
@given(st.lists(entries, min_size=1, max_size=5))
def test_what_is_written_is_read(written: list[LogEntry]) -> None:
    """Entries come back as they were, numbered in order, and every line is JSON for another reader too."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deep" / "practice.jsonl"
        numbered = [append(path, one)[0] for one in written]
        assert [one.number for one in numbered] == list(range(1, len(written) + 1))
        assert read_log(path).entries == tuple(numbered)
        lines = [json.loads(line) for line in path.read_text("utf-8").removesuffix("\n").split("\n")]
        assert lines[0]["format"] == 1
        assert [line["card"] for line in lines[1:]] == [one.card for one in written]


def test_cut_after_every_byte_only_the_torn_entry_is_lost(tmp_path: Path) -> None:
    """Wherever a write was cut off, whole entries are read, half a line is put aside, and writing goes on."""
    data = log_of(tmp_path / "whole.jsonl", 4)
    for cut in range(len(data) + 1):
        path = tmp_path / f"cut-{cut}" / "practice.jsonl"
        path.parent.mkdir()
        path.write_bytes(data[:cut])
        left = whole_lines(data[:cut])
        assert [one.card for one in read_log(path).entries] == [line["card"] for line in left], cut
        added, told = append(path, entry("after-the-cut"))
        assert added.number == len(left) + 1
        after = path.read_bytes()
        assert [line["card"] for line in whole_lines(after)] == [*(line["card"] for line in left), "after-the-cut"]
        assert all(json.loads(line) for line in after.removesuffix(b"\n").split(b"\n"))
        tail = data[:cut].rpartition(b"\n")[2]
        aside = path.with_name("practice.jsonl.torn")
        kept = aside.read_bytes() if aside.exists() else b""
        assert kept in (b"", tail + b"\n")
        assert bool(kept) == bool(told)
        assert kept or not tail or json.loads(tail), cut  # what is not put aside was whole
        assert told is None or ("practice.jsonl.torn" in told and "nothing else is lost" in told)


WRITER = """
import datetime, sys
from pathlib import Path
from kb.log.file import append
from kb.model.log import LogEntry
path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
for n in range(count):
    entry, _ = append(path, LogEntry(0, datetime.date(2026, 3, 2), f"{name}-{n}", "helped"))
    print(entry.number, flush=True)
"""


def writer(path: Path, name: str, count: int) -> "subprocess.Popen[str]":
    """Start another process that writes so many entries and prints the number of each once it is written."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(count)], stdout=subprocess.PIPE, text=True
    )


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Two processes write a hundred entries each at the same time: all two hundred are there, each number once."""
    path = tmp_path / "practice.jsonl"
    both = [writer(path, name, 100) for name in ("one", "two")]
    printed = [int(line) for process in both for line in process.communicate(timeout=120)[0].split()]
    found = read_log(path)
    assert sorted(printed) == list(range(1, 201))
    assert [one.number for one in found.entries] == list(range(1, 201))
    assert {one.card for one in found.entries} == {f"{name}-{n}" for name in ("one", "two") for n in range(100)}
    assert found.problems == ()


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_a_killed_writer_loses_nothing_it_had_written(tmp_path: Path) -> None:
    """What a process said was written is there after it is killed in the middle, and its lock is free."""
    path = tmp_path / "practice.jsonl"
    chance = random.Random(3)
    written = 0
    for round_ in range(3):
        process = writer(path, f"round-{round_}", 100_000)
        assert process.stdout
        last = 0
        for _ in range(chance.randint(1, 30)):
            last = int(process.stdout.readline())
        process.send_signal(signal.SIGKILL)
        process.communicate()
        numbers = [one.number for one in read_log(path).entries]
        assert numbers == list(range(1, len(numbers) + 1))
        assert len(numbers) >= last > written
        written = append(path, entry())[0].number
        assert written == len(numbers) + 1


FULL = """
import resource, sys
from pathlib import Path
from kb.errors import FileUnusable
from kb.log.file import append, take_back
from kb.model.log import LogEntry
import datetime, signal
path, what, limit = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
try:
    take_back(path) if what == "undo" else append(path, LogEntry(0, datetime.date(2026, 3, 2), "x" * 60, "helped"))
except FileUnusable as error:
    print(error)
    sys.exit(error.exit_code)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
@pytest.mark.parametrize("what", ["append", "undo"])
@pytest.mark.parametrize("room", [0, 1, 30, 100])
def test_a_full_disk_leaves_the_old_bytes(tmp_path: Path, what: str, room: int) -> None:
    """When the system takes only a part of a write, or nothing, the file is as it was, and the error says so."""
    path = tmp_path / "practice.jsonl"
    before = log_of(path, 3)
    limit = room if what == "undo" else len(before) + room
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(path), what, str(limit)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 3, done.stderr
    assert "it is as it was" in done.stdout
    assert "Traceback" not in done.stderr
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir() if one.suffix == ".new"] == []
    assert append(path, entry())[0].number == 4


def test_a_write_that_fails_leaves_no_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full at the very first entry leaves no file behind."""

    def full(_handle: int, _data: bytes) -> int:
        raise OSError(28, "No space left on device")

    path = tmp_path / "practice.jsonl"
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        with pytest.raises(FileUnusable, match="No space left on device"):
            append(path, entry())
    assert not path.exists()
    assert read_log(path).entries == ()


def test_a_log_of_a_later_version_is_read_and_never_written(tmp_path: Path) -> None:
    """What can be understood is read and told; writing and taking back are refused and leave every byte."""
    path = tmp_path / "practice.jsonl"
    lines = [
        {"format": 2, "what": "drillkb practice log", "tongue": "later"},
        {"number": 1, "when": "2027-01-01", "card": "vault-tall-fall", "result": "helped", "mood": "sunny"},
        {"number": 2, "when": "2027-01-01", "card": "vault-tall-fall", "result": "a-little"},
    ]
    data = "\n".join(map(json.dumps, lines)).encode() + b'\n{"half a li'
    path.write_bytes(data)
    found = read_log(path)
    assert [one.number for one in found.entries] == [1]
    assert "later version of drillkb (format 2; this one writes 1)" in found.problems[0]
    writes: list[Callable[[], object]] = [lambda: append(path, entry()), lambda: take_back(path)]
    for write in writes:
        with pytest.raises(FileUnusable, match="upgrade drillkb") as error:
            write()
        assert (error.value.line, error.value.exit_code) == (1, 3)
        assert path.read_bytes() == data
    assert sorted(one.name for one in tmp_path.iterdir()) == ["practice.jsonl", "practice.jsonl.lock"]


def test_another_file_is_no_log_and_stays_as_it_is(tmp_path: Path) -> None:
    """A file that is something else, with or without a line end, is refused with what to do."""
    path = tmp_path / "practice.jsonl"
    for data in (b"a,b\n1,2\n", b"shopping list", b'{"number": 1}\n', b"\xff\xfe\n"):
        path.write_bytes(data)
        calls: list[Callable[[], object]] = [
            lambda: read_log(path),
            lambda: append(path, entry()),
            lambda: take_back(path),
        ]
        for call in calls:
            with pytest.raises(FileUnusable, match="is no practice log"):
                call()
        assert path.read_bytes() == data


def test_a_line_mended_badly_by_hand_is_told_and_kept(tmp_path: Path) -> None:
    """A line that is no entry costs that line only, is told with its number, and no write throws it away."""
    path = tmp_path / "practice.jsonl"
    log_of(path, 2)
    header, first, second = path.read_bytes().splitlines()
    path.write_bytes(b"\xef\xbb\xbf" + b"\r\n".join([header, first, b"{oops}", b"", second]) + b"\r\n")
    found = read_log(path)
    assert [one.number for one in found.entries] == [1, 2]
    assert found.problems == (f"{path}:3: is no entry and is passed over; mend the line or delete it.",)
    assert append(path, entry())[0].number == 3
    assert take_back(path)[0].number == 3
    assert take_back(path)[0].number == 2
    assert b"{oops}" in path.read_bytes()
    assert [one.number for one in read_log(path).entries] == [1]


def test_taking_back_takes_the_words_out_of_the_file(tmp_path: Path) -> None:
    """The entry written last is gone for good, the others and the file's permissions stay."""
    path = tmp_path / "practice.jsonl"
    before = log_of(path, 2)
    path.chmod(0o640)
    append(path, entry(note="a name that slipped in"))
    assert take_back(path)[0].note == "a name that slipped in"
    assert path.read_bytes() == before
    if sys.platform != "win32":
        assert path.stat().st_mode & 0o777 == 0o640
    take_back(path)
    take_back(path)
    with pytest.raises(UsageError, match="nothing to take back"):
        take_back(path)
    with pytest.raises(UsageError, match="nothing to take back"):
        take_back(tmp_path / "nowhere.jsonl")


def test_what_a_killed_taking_back_left_behind_does_no_harm(tmp_path: Path) -> None:
    """Half of a new file beside the log changes nothing, and the next one writes over it."""
    path = tmp_path / "practice.jsonl"
    before = log_of(path, 2)
    path.with_name("practice.jsonl.new").write_bytes(before[: len(before) // 2])
    assert len(read_log(path).entries) == 2
    take_back(path)
    assert len(read_log(path).entries) == 1
    assert not path.with_name("practice.jsonl.new").exists()


def test_a_lock_that_is_held_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another writer holds the log, a write gives up in the end, says so, and writes nothing."""
    path = tmp_path / "practice.jsonl"
    before = log_of(path, 1)
    monkeypatch.setattr(lock, "WAIT_S", 0.05)
    with lock.locked(path), pytest.raises(FileUnusable, match="by another program; try again"):
        append(path, entry())
    assert path.read_bytes() == before
    assert append(path, entry())[0].number == 2

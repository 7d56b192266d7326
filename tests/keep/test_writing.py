"""Files are whole, and two that write at once both get their turn."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

from kb.errors import FileUnusable
from kb.keep import writing
from kb.keep.writing import only_one, write_whole
from tests.support import ROOT

COUNT = """
import sys
from pathlib import Path
from kb.keep.writing import only_one, write_whole
path = Path(sys.argv[1])
for _ in range(60):
    with only_one(path):
        write_whole(path, str(int(path.read_text()) + 1))
"""


def test_two_at_once(tmp_path: Path) -> None:
    """Two programs that count in one file lose no count."""
    path = tmp_path / "count.txt"
    path.write_text("0", "utf-8")
    both = [subprocess.Popen([sys.executable, "-c", COUNT, str(path)], cwd=ROOT) for _ in range(2)]
    assert [one.wait(60) for one in both] == [0, 0]
    assert path.read_text("utf-8") == "120"


def test_a_dead_lock_is_taken_away_and_a_live_one_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The lock of a killed program lapses; a live one ends in one sentence with the remedy."""
    path = tmp_path / "a.txt"
    lock = tmp_path / ".a.txt.lock"
    lock.touch()
    monkeypatch.setattr(writing, "PATIENCE_S", 0.1)
    with pytest.raises(FileUnusable, match="another program is writing"), only_one(path):
        pass
    old = time.time() - 2 * writing.ABANDONED_S
    import os

    os.utime(lock, (old, old))
    with only_one(path):
        write_whole(path, "x")
    assert not lock.exists()

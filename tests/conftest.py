"""What many tests share: the starter library, opened once."""

import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

import kb
from kb.facade import Library
from kb.model import Plan
from tests.plan.demo import GROUPS, LARKMOOR, THEMES

# In continuous integration the same examples every time: a run says something about the change, not about chance.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")

# What a developer has logged with the starter library must not change what the tests see; no such file exists.
os.environ["DRILLKB_LOG"] = str(Path(tempfile.gettempdir()) / f"drillkb-no-log-{os.getpid()}" / "practice.jsonl")


@pytest.fixture(scope="session")
def starter() -> Library:
    """Return the starter library with its index in place."""
    library = kb.open_library()
    assert library.index.card_ids
    return library


@pytest.fixture
def log_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the file that is the practice log of every library in this test; it is not there yet."""
    path = tmp_path / "log" / "practice.jsonl"
    monkeypatch.setenv("DRILLKB_LOG", str(path))
    return path


@pytest.fixture(scope="session")
def demo_file(starter: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a plan for the demo squads: two themes, three coaches, ninety minutes."""
    path = tmp_path_factory.mktemp("plan") / "week.yaml"
    starter.plan(THEMES, groups=GROUPS, kit=LARKMOOR, coaches=3, minutes=90, seconds=4.0, out=path)
    return path


@pytest.fixture(scope="session")
def demo(demo_file: Path) -> Plan:
    """Return that plan, as it is read from its file."""
    from kb.plan.store import read_plan

    return read_plan(demo_file)

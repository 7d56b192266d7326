"""What the tests of several folders share: a small valid library to copy, break and read."""

import shutil
from pathlib import Path

ROOT = Path(__file__).parents[1]
FIXTURES = Path(__file__).parent / "fixtures"
SMALL = FIXTURES / "small"
"""Two events, seven cards and two ladders, with nothing wrong. Never write into it; copy it."""


def small_library(tmp_path: Path) -> Path:
    """Copy the small library into a temporary folder and return the copy."""
    return Path(shutil.copytree(SMALL, tmp_path / "small"))

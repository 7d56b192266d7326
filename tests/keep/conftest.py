"""A small library of one's own, and a starter library to write in."""

from pathlib import Path

import pytest

from kb.facade import Library, open_library
from tests.fakes import BagEncoder
from tests.support import small_library


@pytest.fixture
def small(tmp_path: Path) -> Library:
    """Return a copy of the small library."""
    return open_library(small_library(tmp_path), encoder=BagEncoder())


@pytest.fixture(scope="session")
def own(starter: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the starter library, index and all, that tests may write into and clean up after."""
    folder = tmp_path_factory.mktemp("own") / "drills"
    starter.copy_to(folder)
    return folder

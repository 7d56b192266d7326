"""What many tests share: the starter library, opened once."""

import os

import pytest
from hypothesis import settings

import kb
from kb.facade import Library

# In continuous integration the same examples every time: a run says something about the change, not about chance.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")


@pytest.fixture(scope="session")
def starter() -> Library:
    """Return the starter library with its index in place."""
    library = kb.open_library()
    assert library.index.card_ids
    return library

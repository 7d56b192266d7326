"""What many tests share: the starter library, opened once."""

import pytest

import kb
from kb.facade import Library


@pytest.fixture(scope="session")
def starter() -> Library:
    """Return the starter library with its index in place."""
    library = kb.open_library()
    assert library.index.card_ids
    return library

"""Cards are cut into passages that fit the encoder, and nothing is lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.index.passages import card_passages, pack
from kb.model import Card
from tests.fakes import small_card

LONG = "word " * 500


@given(st.text(alphabet="ab \n", max_size=300), st.integers(1, 20))
def test_pack_loses_no_word(text: str, window: int) -> None:
    """The pieces in a row are the words of the text, and each piece fits (or is a single word)."""
    pieces = pack(text, lambda piece: len(piece) <= window)
    assert " ".join(pieces).split() == text.split()
    assert all(len(piece) <= window or " " not in piece for piece in pieces)


@pytest.mark.parametrize("window", [30, 60, 120, 1000])
def test_every_word_of_a_card_is_in_a_passage(window: int) -> None:
    """Whatever the window, all words of all sections are encoded, each passage within the window."""
    card = small_card()
    passages = card_passages(card, lambda text: len(text.split()) <= window)
    assert all(len(passage.text.split()) <= window for passage in passages)
    together = " ".join(passage.text for passage in passages)
    missing = [word for text in card.sections.values() for word in text.split() if word not in together]
    assert missing == []


def test_title_leads_every_passage() -> None:
    """A passage says which drill it is from."""
    card: Card = small_card()
    assert all(passage.text.startswith(card.title) for passage in card_passages(card, lambda text: len(text) < 400))

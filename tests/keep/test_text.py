"""A card is written only when it reads back to the same card, and rewritten only in the names that were meant."""

from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import FileUnusable
from kb.facade import Library
from kb.keep.text import card_text, read_back, with_names
from kb.library import load_collection
from kb.model import SECTIONS
from tests.support import FIXTURES, SMALL

GOOD = (FIXTURES / "cards" / "good.md").read_text("utf-8")
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
PLAIN: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(["title", "event", "after", "equipment", "figure", "x y"]), PLAIN))
def test_whatever_is_written_reads_back(front: dict[str, Any]) -> None:
    """Any values at all come back as they were, or are refused with a sentence."""
    try:
        text = card_text(front, {"Do": "Stand."}, "a.md")
    except FileUnusable:
        return
    assert read_back(text, "a.md") == (front, {"Do": "Stand."})


@pytest.mark.parametrize(
    "text",
    [
        "yes",
        "3-5",
        "12",
        "1e3",
        "null",
        "a: b",
        "a #b",
        "- a",
        'it\'s "so"',
        "zwei\u2028drei",
        "\u0085",
        "ä–ö",
        " a ",
        "a:",
    ],
)
def test_awkward_text_is_written(text: str) -> None:
    """Text that YAML would take for something else is quoted, not refused."""
    front = {"title": text, "spotting": {"hands": text, "spotters": 0}, "skills": [text]}
    assert read_back(card_text(front, {}, "a.md"), "a.md") == (front, {})


def test_every_starter_card_is_written_to_the_same_card(starter: Library) -> None:
    """Front matter and body of all cards survive being written anew."""
    for card in starter.collection.cards.values():
        front, sections = read_back((starter.folder / card.file).read_text("utf-8"), card.file)
        assert read_back(card_text(front, sections, card.file), card.file) == (front, sections)


@pytest.mark.parametrize("text", ["```\nnever closed", "<!-- never closed", "Steps\n---", "## Do\nother"])
def test_a_section_that_would_eat_the_next_is_refused(text: str) -> None:
    """Text that changes how the rest of the card is read is not written."""
    with pytest.raises(FileUnusable, match="reads back the same"):
        card_text({"title": "a"}, {"Set up": text, "Do": "Stand."}, "a.md")


def test_names_are_changed_and_nothing_else() -> None:
    """Only 'after' and the twin change; comments, quotes and layout stay."""
    after = 'after:   # first\n  - vault-timber-fall\n  - "vault-x"'
    twin = "no_spot_twin: vault-timber-fall  # kept\nsources:"
    old = GOOD.replace("after: [vault-timber-fall]", after).replace("sources:", twin)
    new = with_names(old, {"vault-timber-fall": "vault-other", "vault-x": "vault-y"}, "a.md")
    assert new == old.replace("vault-timber-fall", "vault-other").replace('"vault-x"', "vault-y")
    assert with_names(old, {"vault-z": "vault-q"}, "a.md") == old


def test_a_rewrite_that_changes_more_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the new text is not the same card with the names changed, nothing is rewritten."""
    import kb.keep.text

    monkeypatch.setattr(kb.keep.text, "_with_names", lambda halves, _: halves.front.replace("minutes: 6", "minutes: 7"))
    with pytest.raises(FileUnusable, match="left alone"):
        with_names(GOOD, {"vault-timber-fall": "vault-other"}, "a.md")


def test_the_whole_card_is_the_same(tmp_path: Path) -> None:
    """A card that was written anew loads as the very same object."""
    old = load_collection(SMALL).cards["vault-lift-to-pile"]
    front, sections = read_back((SMALL / old.file).read_text("utf-8"), old.file)
    copy = tmp_path / "library"
    import shutil

    shutil.copytree(SMALL, copy)
    (copy / old.file).write_text(card_text(front, sections, old.file), "utf-8")
    assert load_collection(copy).cards["vault-lift-to-pile"] == old
    assert list(sections) == [name for name in SECTIONS if name in sections]
    assert msgspec.json.encode(front)

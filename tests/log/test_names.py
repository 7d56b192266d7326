"""What looks like a person's name is questioned; squads, trade words and ordinary sentences are not."""

from pathlib import Path

import pytest
import yaml

from kb.facade import Library
from kb.log.names import given_names, person_named

SAID = yaml.safe_load((Path(__file__).parent / "names.yaml").read_text("utf-8"))


@pytest.fixture(scope="module")
def known(starter: Library) -> set[str]:
    """Return the words that name nobody: the library's and the squads of the demo club."""
    return {*starter.index.words, "slate", "copper", "amber"}


@pytest.mark.parametrize(("text", "words"), SAID["questioned"])
def test_a_name_is_questioned(known: set[str], text: str, words: str) -> None:
    """The words that look like a name are the ones that are shown."""
    assert person_named(text, known) == words


@pytest.mark.parametrize("text", SAID["fine"])
def test_what_names_nobody_is_not(known: set[str], text: str) -> None:
    """No question is asked for nothing."""
    assert person_named(text, known) is None


@pytest.mark.parametrize("text", SAID["squads_questioned"])
def test_a_squad_that_is_a_person_is_questioned(starter: Library, text: str) -> None:
    """A first name of the list, or two capitalised words."""
    assert person_named(text, starter.index.words)


@pytest.mark.parametrize("text", SAID["squads_fine"])
def test_a_squad_is_not(starter: Library, text: str) -> None:
    """Colours, levels and trade words are squads."""
    assert person_named(text, starter.index.words) is None


def test_what_the_library_says_names_nobody(starter: Library) -> None:
    """No title, fault, skill or piece of kit is taken for a person, and no given name is a word of the library."""
    words = starter.vocabulary
    said = [starter.card(name).title for name in starter.index.card_ids]
    said += [thing.name for group in (words.faults, words.skills, words.equipment) for thing in group.values()]
    assert [text for text in said if person_named(text, starter.index.words)] == []
    assert sorted(given_names() & starter.index.words.keys()) == []
    assert len(given_names()) > 300

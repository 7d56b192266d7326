"""The words that were learned from: enough of them, in every voice, none of pain, and none of what measures."""

import re
from collections import Counter
from itertools import chain
from pathlib import Path

import numpy as np
import pytest

from kb.facade import Library
from kb.index.encode import OnnxEncoder
from kb.index.words import plain
from kb.library import Collection
from kb.score.questions import read_questions
from kb.search.caution import stop_sign
from kb.train.texts import training_texts
from tests.test_starter_library import PAIN, PERSON_OR_BRAND

QUESTIONS = Path(__file__).parent / "questions"
VOICES = {"head-coach", "assistant", "parent", "judge", "child", "texting", "abroad"}
LEAST = 60
NEAR = 0.9
RUN = 5


@pytest.fixture(scope="module")
def library(starter: Library) -> Collection:
    """Return the starter library as it stands in the folder."""
    return starter.collection


def test_every_fault_is_said_in_sixty_ways_and_seven_voices(library: Collection) -> None:
    """At least sixty lines a fault by at least seven authors, each of the voices among them."""
    said = library.said
    assert {
        fault: len(said.get(fault, ())) for fault in library.vocabulary.faults if len(said.get(fault, ())) < LEAST
    } == {}
    for fault, lines in said.items():
        assert {line.voice for line in lines} >= VOICES, fault
        assert len({line.author for line in lines}) >= 7, fault


def test_lengths_from_three_words_to_thirty(library: Collection) -> None:
    """Short, middle and long ones are all there."""
    lengths = Counter(min(3, len(line.text.split()) // 7) for line in chain(*library.said.values()))
    total = sum(lengths.values())
    assert total >= 9_000
    assert min(lengths[place] for place in range(3)) > 0.1 * total


def test_nothing_is_said_twice(library: Collection) -> None:
    """Of one fault no line comes twice, whatever the capitals and stops."""
    for fault, lines in library.said.items():
        kept = [" ".join(re.findall(r"[^\W_]+", plain(line.text))) for line in lines]
        assert len(kept) == len(set(kept)), fault


def test_pain_never_stands_for_a_fault(library: Collection) -> None:
    """No line is a sign to stop, names pain, a person or a brand."""
    for line in chain(*library.said.values()):
        assert not PAIN.search(line.text), line.text
        assert not PERSON_OR_BRAND.search(line.text), line.text
        assert stop_sign((line.text,), library.vocabulary) is None, line.text


def reporting(library: Collection) -> list[str]:
    """Return the questions that only measure."""
    sets = read_questions(QUESTIONS, library.vocabulary)
    return [judged.q for one in sets if one.half == "reporting" for judged in one.questions]


def runs(text: str) -> set[tuple[str, ...]]:
    """Return every run of five words."""
    words = re.findall(r"[^\W_]+", plain(text))
    return {tuple(words[at : at + RUN]) for at in range(len(words) - RUN + 1)}


def test_nothing_that_measures_was_learned(library: Collection) -> None:
    """Nothing learned from shares five words in a row with a reporting question or is nearer to one than cosine 0.9."""
    asked = reporting(library)
    learned = [utterance.text for utterance in training_texts(library).utterances]
    taken = set().union(*map(runs, asked))
    assert [text for text in learned if runs(text) & taken] == []
    encoder = OnnxEncoder()
    questions = encoder.encode(asked)
    for start in range(0, len(learned), 1024):
        part = learned[start : start + 1024]
        nearest = (encoder.encode(part) @ questions.T).max(axis=1)
        assert [part[row] for row in np.flatnonzero(nearest >= NEAR)] == []


def test_authors_of_the_reporting_half_wrote_none_of_it(library: Collection) -> None:
    """Author numbers of questions and of what was learned do not meet."""
    judges = {one.author for one in read_questions(QUESTIONS, library.vocabulary)}
    assert not judges & {line.author for line in chain(*library.said.values())}

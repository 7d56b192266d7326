"""What the models learn from: the ways faults are said, and what the library writes about each fault."""

import random
import re
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import msgspec
from msgspec import Struct

from kb.library import Collection

HEARD = "heard_as"
"""Stands for the voice of the phrases in the fault files, whose authors are not told apart."""


class Utterance(Struct, frozen=True):
    """One way a fault is said."""

    fault: str
    voice: str
    author: int
    """0 for the phrases of the fault files."""
    text: str


class TrainingTexts(Struct, frozen=True):
    """Everything that a training run reads; it travels to another machine as one JSON file."""

    events: dict[str, str]
    """Fault to its event, in the order of the classes."""
    utterances: tuple[Utterance, ...]
    about: dict[str, tuple[str, ...]]
    """Fault to its name, picture, causes and the passages of the cards that mend it."""
    skills: tuple[tuple[str, ...], ...]
    """Names of the same skill."""
    general: tuple[str, ...] = ()
    """Plain sentences on which the encoder must go on meaning what it meant."""

    @property
    def faults(self) -> list[str]:
        """Names of the classes, in order."""
        return list(self.events)

    def digest(self) -> str:
        """Return the hash of all that is learned from."""
        return sha256(msgspec.json.encode(self)).hexdigest()

    def first(self, most: int, seed: int) -> "TrainingTexts":
        """Return the texts with at most so many utterances a fault, drawn with the seed."""
        drawn = list(self.utterances)
        random.Random(seed).shuffle(drawn)  # noqa: S311 - a draw, not a secret
        count: dict[str, int] = {}
        kept = []
        for utterance in drawn:
            count[utterance.fault] = count.get(utterance.fault, 0) + 1
            if count[utterance.fault] <= most:
                kept.append(utterance)
        return msgspec.structs.replace(self, utterances=tuple(kept))


def training_texts(collection: Collection) -> TrainingTexts:
    """Return all that the library says of its faults and skills, in a fixed order."""
    words = collection.vocabulary
    mending: dict[str, list[str]] = {}
    for card in collection.cards.values():
        for mends in card.corrects:
            text = f"{card.title}. {card.sections['Fixes']}"
            if mends.weight >= 2 and text not in mending.setdefault(mends.fault, []):
                mending[mends.fault].append(text)
    about = {
        fault.id: (
            f"{words.events[fault.event].name}: {fault.name}",
            fault.looks_like,
            *(f"{fault.name}. {cause.name}. {cause.tell}" for cause in fault.causes),
            *mending.get(fault.id, ()),
        )
        for fault in words.faults.values()
    }
    return TrainingTexts(
        {fault.id: fault.event for fault in words.faults.values()},
        tuple(_utterances(collection)),
        about,
        tuple((skill.name, *skill.aka) for skill in words.skills.values() if skill.aka),
        (*general_sentences(), *(text for texts in mending.values() for text in texts)),
    )


def general_sentences() -> tuple[str, ...]:
    """Return sentences of general English that every Python carries: the chapters of its own help."""
    from pydoc_data.topics import topics

    pieces = re.split(r"(?<=[.:])\s+|\n\n", re.sub(r"[`*]", "", "\n\n".join(topics.values())))
    plain = (" ".join(piece.split()) for piece in pieces)
    return tuple(dict.fromkeys(piece for piece in plain if SHORTEST <= len(piece.split()) <= LONGEST))


SHORTEST, LONGEST = 5, 60
"""Words of a sentence on which general meaning is held."""


def _utterances(collection: Collection) -> Iterator[Utterance]:
    for fault in collection.vocabulary.faults.values():
        for text in fault.heard_as:
            yield Utterance(fault.id, HEARD, 0, text)
        for said in collection.said.get(fault.id, ()):
            yield Utterance(fault.id, said.voice, said.author, said.text)


def read_texts(path: Path) -> TrainingTexts:
    """Read the JSON file that `write_texts` wrote."""
    return msgspec.json.decode(path.read_bytes(), type=TrainingTexts)


def write_texts(path: Path, texts: TrainingTexts) -> None:
    """Write everything that a run reads as one JSON file."""
    path.write_bytes(msgspec.json.encode(texts))

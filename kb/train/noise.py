"""Typing errors, so that what is learned holds for words typed with chalky thumbs."""

import random
from collections.abc import Callable

NEIGHBOURS = dict(
    zip(
        "qwertyuiopasdfghjklzxcvbnm",
        (
            "wa qes wrd etf ryg tuh yij uok ipl o qsz adwx sfec dgrv fhtb gjyn hkum jli ko asx zdc xfv cgb vhn bjm nk"
        ).split(),
        strict=True,
    )
)
"""Keys that lie beside each other."""

Rng = random.Random


def mistype(text: str, rng: Rng, rate: float) -> str:
    """Return the text with, in each word of four letters or more, one typing error with probability `rate`."""
    return " ".join(
        rng.choice(ERRORS)(word, rng.randrange(1, len(word) - 1), rng)
        if len(word) >= 4 and rng.random() < rate
        else word
        for word in text.split()
    )


def swap(word: str, at: int, _rng: Rng) -> str:
    """Two letters change places."""
    return word[:at] + word[at + 1] + word[at] + word[at + 2 :]


def drop(word: str, at: int, _rng: Rng) -> str:
    """A letter is missing."""
    return word[:at] + word[at + 1 :]


def double(word: str, at: int, _rng: Rng) -> str:
    """A letter is typed twice."""
    return word[:at] + word[at] + word[at:]


def slip(word: str, at: int, rng: Rng) -> str:
    """The finger hits the key beside."""
    return word[:at] + rng.choice(NEIGHBOURS.get(word[at].lower(), word[at])) + word[at + 1 :]


ERRORS: tuple[Callable[[str, int, Rng], str], ...] = (swap, drop, double, slip)

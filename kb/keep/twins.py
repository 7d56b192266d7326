"""Cards that look alike: nearly the same title, or nearly the same set-up and steps."""

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.model import Card
from kb.model.keep import Twin

ALIKE_TITLE, ALIKE_STEPS = 85, 80
"""Likeness (rapidfuzz ratio of the sorted words, 0 to 100) from which two cards are shown side by side.

Among the 374 starter cards, all meant to differ, the most alike titles reach 84 and the most alike steps 74.
"""
MOST_SHOWN = 5


class TwinFinder:
    """Finds the cards of a library that another card looks like."""

    def __init__(self, cards: Iterable[Card]) -> None:
        self.cards = list(cards)
        self.titles = [_plain(card.title) for card in self.cards]
        self.steps = [steps(card.sections) for card in self.cards]

    def twins(self, title: str, sections: Mapping[str, str], but: str = "") -> tuple[Twin, ...]:
        """Return up to five cards that look like this one, the most alike first; `but` is left out."""
        rows = self.many([title], [steps(sections)])
        found = [self._twin(place, rows) for place, card in enumerate(self.cards) if card.id != but]
        return tuple(sorted((one for one in found if one), key=lambda one: -one.likeness)[:MOST_SHOWN])

    def many(self, titles: list[str], texts: list[str]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Return how alike titles and steps are, each of shape (texts, cards), 0 to 100."""
        from rapidfuzz import fuzz, process

        # what is below the cutoff is 0 and costs next to nothing
        kind: dict[str, Any] = {"scorer": fuzz.ratio, "dtype": np.float32}
        by_title = process.cdist([_plain(one) for one in titles], self.titles, score_cutoff=ALIKE_TITLE, **kind)
        by_steps = process.cdist(texts, self.steps, score_cutoff=ALIKE_STEPS, **kind)
        return by_title, by_steps

    def _twin(self, place: int, rows: tuple[NDArray[np.float32], NDArray[np.float32]]) -> Twin | None:
        title, text = float(rows[0][0, place]), float(rows[1][0, place])
        if not self.steps[place]:
            text = 0.0
        if not title and not text:
            return None
        card = self.cards[place]
        return Twin(card.id, card.title, round(max(title, text) / 100, 2), "title" if title >= text else "steps")


def steps(sections: Mapping[str, str]) -> str:
    """Return the words of set-up and steps, sorted; empty when neither is said."""
    return _plain(f"{sections.get('Set up', '')} {sections.get('Do', '')}")


def _plain(text: str) -> str:
    """Return the words of a text in the order of the alphabet, so that their order in the text does not count."""
    return " ".join(sorted("".join(letter if letter.isalnum() else " " for letter in text.lower()).split()))

"""What is put in front of the encoder: a card cut by its headings into passages that fit the encoder's window."""

from collections.abc import Callable, Iterator

from msgspec import Struct

from kb.model import Card

TOGETHER = (("Fixes", "Look for"), ("Set up", "Do"), ("Say", "Goes wrong"), ("Easier", "Harder", "Keep safe"))
"""Headings that are read together where they fit: what it mends, how it runs, what goes wrong, how to vary it."""

Fits = Callable[[str], bool]


class Passage(Struct, frozen=True):
    """A piece of a card short enough for the encoder."""

    card: str
    heading: str
    """The headings that it holds, joined by ' + '."""
    text: str


def card_passages(card: Card, fits: Fits) -> list[Passage]:
    """Cut a card into passages; every word of the body is in one of them, whatever the encoder's window."""
    found: list[Passage] = []
    for headings in TOGETHER:
        text = "\n".join(card.sections[heading] for heading in headings)
        if fits(_titled(card, text)):
            found.append(Passage(card.id, " + ".join(headings), _titled(card, text)))
        else:
            found += [piece for heading in headings for piece in _section(card, heading, fits)]
    return found


def _section(card: Card, heading: str, fits: Fits) -> Iterator[Passage]:
    for piece in pack(card.sections[heading], lambda text: fits(_titled(card, text))):
        yield Passage(card.id, heading, _titled(card, piece))


def pack(text: str, fits: Fits) -> list[str]:
    """Cut a text at word borders into the fewest pieces in a row that fit; a word that fits nowhere stands alone."""
    pieces: list[str] = []
    words = text.split()
    while words:
        low, high = 1, len(words)
        while low < high:  # the longest run of words that fits
            middle = (low + high + 1) // 2
            low, high = (middle, high) if fits(" ".join(words[:middle])) else (low, middle - 1)
        pieces.append(" ".join(words[:low]))
        words = words[low:]
    return pieces


def _titled(card: Card, text: str) -> str:
    # The title stands before every passage, so that "push the floor away" is known to be about a handstand.
    return f"{card.title}. {text}"

"""A card that is not in the library yet is judged by the rules of `check`, alone and among the library's cards."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from kb.draw.checks import card_figure_problems
from kb.errors import FileUnusable
from kb.library import Collection
from kb.library.checks import LINK_RULES, card_problems
from kb.library.convert import dotted
from kb.library.frontmatter import split_card
from kb.library.load import ReadCard
from kb.library.safeyaml import Located
from kb.model import Card, Problem, Vocabulary


class Judged(Struct, frozen=True):
    """A card as far as it could be read, and what is wrong with it by itself."""

    file: str
    text: str
    card: Card | None
    lines: Located
    problems: tuple[Problem, ...]


def judge(text: str, file: str, words: Vocabulary) -> Judged:
    """Read a card from its text by the rules of one card; `file` is where it would lie inside the library."""
    entry = ReadCard(file)
    try:
        entry.convert(split_card(text, file), Path(file))
    except FileUnusable as error:
        entry.problems.append(Problem(file, error.line, "", error.reason))
    problems = [*entry.problems]
    if entry.card:
        problems += card_problems(entry.card, words, entry.lines)
        problems += [
            Problem(file, 0, "figure", message, keeps_out=False) for message in card_figure_problems(entry.card, words)
        ]
    return Judged(file, text, entry.card, entry.lines, tuple(sorted(problems)))


def link_problems(judged: Sequence[Judged], collection: Collection) -> dict[str, list[Problem]]:
    """Return by file what is wrong between these cards and the library's, as if they were all in it."""
    new = {one.card.id: one for one in judged if one.card}
    cards: Mapping[str, Card] = {**collection.cards, **{name: one.card for name, one in new.items() if one.card}}
    found: dict[str, list[Problem]] = {}
    for name, one in new.items():
        for rule in LINK_RULES:
            for path, message in rule(cards[name], cards, collection.vocabulary):
                problem = Problem(one.file, one.lines.line(path), dotted(path), message, keeps_out=False)
                found.setdefault(one.file, []).append(problem)
    return found

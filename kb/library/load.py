"""Read a library folder: every card that is right, and every problem of every card that is not."""

import re
from collections.abc import Callable
from pathlib import Path

from kb.errors import FileUnusable, LibraryUnusable
from kb.library.checks import card_problems, collection_problems
from kb.library.collection import Collection
from kb.library.convert import convert_fields
from kb.library.files import card_files
from kb.library.frontmatter import Parts, section_problems, split_card, split_sections
from kb.library.safeyaml import Located, read_yaml
from kb.library.said import read_said
from kb.library.vocabulary import VocabularyReader
from kb.model import Card, FrontMatter, Problem, Vocabulary
from kb.model.card import ID_PATTERN

LARGEST_CARD = 100_000
"""Bytes of one card file."""
LONGEST_ID = 80
"""Characters of a card's id, as in the model's Id."""


def load_collection(folder: Path) -> Collection:
    """Read the library at `folder`.

    Raises LibraryUnusable when the folder is missing or has no vocabulary. Nothing wrong inside a card raises:
    it becomes a problem, and the card is left out.
    """
    if not folder.is_dir():
        raise LibraryUnusable(folder, "is not a folder. Name a drill library with --library DIR.")
    reader = VocabularyReader(folder)
    words = reader.read()
    read = [ReadCard.from_file(path, folder) for path in card_files(folder)]
    refuse_doubles(read)
    cards = {card.id: card for entry in read if (card := entry.card)}
    lines = {entry.card.id: entry.lines for entry in read if entry.card}
    said, of_said = read_said(folder, words.faults)
    problems = [*reader.problems, *of_said] + [problem for entry in read for problem in entry.problems]
    for card in cards.values():
        problems += card_problems(card, words, lines[card.id])
    kept_out = {problem.file for problem in problems if problem.keeps_out}
    shown = {name: card for name, card in sorted(cards.items(), key=_order(words)) if card.file not in kept_out}
    problems += collection_problems(shown, words, lines, reader.places)
    return Collection(folder, shown, words, said, tuple(sorted(problems)))


def refuse_doubles(read: list["ReadCard"]) -> None:
    """Leave out a card whose name another card has already, in whatever folder."""
    first: dict[str, str] = {}
    for entry in read:
        if entry.card and first.setdefault(entry.card.id, entry.file) != entry.file:
            text = (
                f"has the same file name as {first[entry.card.id]}; the name is the card's id, so rename one of the two"
            )
            entry.problems.append(Problem(entry.file, 0, "", text))
            entry.card = None


class ReadCard:
    """One card file as far as it could be read."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.card: Card | None = None
        self.lines = Located(None, {})
        self.problems: list[Problem] = []

    @classmethod
    def from_file(cls, path: Path, folder: Path) -> "ReadCard":
        """Read and convert one file; whatever is wrong is in `problems`."""
        entry = cls(path.relative_to(folder).as_posix())
        try:
            entry.convert(split_card(_text(path, entry.file), entry.file), path)
        except FileUnusable as error:
            entry.problems.append(Problem(entry.file, error.line, "", error.reason))
        return entry

    def convert(self, parts: Parts, path: Path) -> None:
        """Convert both halves; the card is there only when nothing is wrong."""
        self.lines = read_yaml(parts.front, self.file, parts.front_line)
        good, self.problems = convert_fields(FrontMatter, self.lines, (), self.file)
        sections = split_sections(parts)
        self.lines.lines.update({(section.heading,): section.line for section in sections})
        self.problems += section_problems(sections, self.file, parts.body_line)
        self.check_place(path, good.get("event"))
        if not self.problems:
            body = {section.heading: section.text for section in sections}
            self.card = Card(**good, id=path.stem, file=self.file, sections=body)

    def check_place(self, path: Path, event: str | None) -> None:
        """Report a file name that cannot be an id, and a folder that is not the card's event."""
        if not re.fullmatch(ID_PATTERN, path.stem) or len(path.stem) > LONGEST_ID:
            text = f"is called '{path.name}'; the name is the card's id: lower-case words joined by hyphens, at most "
            self.problems.append(Problem(self.file, 0, "", f"{text}{LONGEST_ID} characters"))
        if event not in (None, path.parent.name):
            text = f"found '{event}', but the card lies in the folder '{path.parent.name}'; make them agree"
            self.problems.append(Problem(self.file, self.lines.line(("event",)), "event", text))


def _text(path: Path, file: str) -> str:
    try:
        if path.stat().st_size > LARGEST_CARD:
            raise FileUnusable(file, 0, f"is larger than {LARGEST_CARD} bytes; a card has about 3,000. Split it.")
        return path.read_text("utf-8")
    except UnicodeDecodeError:
        raise FileUnusable(file, 0, "is not UTF-8 text; save it as UTF-8 in the editor.") from None
    except OSError as error:
        raise FileUnusable(file, 0, f"cannot be read ({error.strerror}).") from None


def _order(words: Vocabulary) -> Callable[[tuple[str, Card]], tuple[int, str]]:
    events = list(words.events)
    return lambda item: (events.index(item[1].event) if item[1].event in events else len(events), item[0])

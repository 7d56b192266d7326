"""What a sheet is made from: the part of an open library that it needs."""

from pathlib import Path
from typing import Protocol

from kb.index.store import Index
from kb.model import Answer, Card, Ladder, SquadSizes, Vocabulary

KitLines = tuple[tuple[str, int, tuple[float, ...] | None], ...]


class Source(Protocol):
    """An open library, as `kb.open_library` returns it."""

    @property
    def vocabulary(self) -> Vocabulary:
        """The words that cards use."""

    @property
    def index(self) -> Index:
        """The index of the library."""

    def card(self, name: str) -> Card:
        """Return a card; UnknownName when there is none."""

    def ask(  # noqa: PLR0913 - the limits of a question, each by name
        self,
        text: str,
        *,
        event: str | None = None,
        level: int | None = None,
        without: tuple[str, ...] = (),
        spotters: int | None = None,
        height: int | None = None,
        age: int | None = None,
        kit: KitLines | None = None,
        top: int = 5,
    ) -> Answer:
        """Answer a question."""

    def ladder(
        self,
        name: str,
        *,
        level: int | None = None,
        without: tuple[str, ...] = (),
        have: dict[str, int] | None = None,
        spotters: int | None = None,
    ) -> Ladder:
        """Return the way to a skill."""

    def squad_size(
        self, name: str, groups: Path, *, group: str | None = None, kit: KitLines | None = None
    ) -> SquadSizes:
        """Return a station for a squad."""

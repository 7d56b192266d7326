"""An opened library: its folder, its index, what answers questions; the ground that all the rest stands on."""

from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import UnknownName
from kb.library.files import TRAINED
from kb.model import Card, Problem, Vocabulary

if TYPE_CHECKING:
    from kb.index.build import BuildReport
    from kb.index.encode import Encoder
    from kb.index.store import Index
    from kb.library import Collection
    from kb.search import Searcher

Say = Callable[[str], None]
Progress = Callable[[int, int], None]


class Base:
    """A drill library on disk and what is worked out of it, each part when it is first needed."""

    def __init__(
        self,
        folder: Path,
        say: Say | None,
        progress: Progress | None,
        encoder: "Encoder | None",
        *,
        general: bool = False,
    ) -> None:
        self.folder, self.general = folder, general
        self.trained_folder = folder / TRAINED
        """Where what was learned from the library's words is looked for."""
        self._say, self._progress = say, progress
        if encoder is not None:
            self.encoder = encoder

    @cached_property
    def encoder(self) -> "Encoder":
        """The text encoder: the one trained on the library's words where there is one, else the general one."""
        from kb.index.encode import PACKAGED, OnnxEncoder

        return OnnxEncoder(self.trained or PACKAGED)

    @property
    def trained(self) -> Path | None:
        """The folder with what was learned from the library's words; None without one or when it is left aside."""
        there = (self.trained_folder / "manifest.json").is_file()
        return self.trained_folder if there and not self.general else None

    @cached_property
    def index(self) -> "Index":
        """The index of the folder as it is now, built if it has to be. Raises LibraryUnusable or IndexUnusable."""
        from kb.index.ensure import open_index

        return open_index(self.folder, self.encoder, self._say, self._progress)

    @cached_property
    def searcher(self) -> "Searcher":
        """What answers questions: the index, the encoder and what is worked out once."""
        from kb.search import Searcher
        from kb.search.learned import Learned

        learned = Learned(self.trained, self.encoder.fingerprint) if self.trained else None
        return Searcher(self.index, self.encoder, learned=learned)

    @cached_property
    def collection(self) -> "Collection":
        """The library as it stands in the folder, with everything that is wrong with it."""
        from kb.library import load_collection

        return load_collection(self.folder)

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """Everything that is wrong with cards, words, ladders and figures, in order of file and line."""
        from kb.draw.checks import figure_problems
        from kb.ladder.checks import ladder_problems

        found = self.collection
        more = [*ladder_problems(found), *figure_problems(found.cards, found.vocabulary)]
        return tuple(sorted([*found.problems, *more]))

    @property
    def vocabulary(self) -> Vocabulary:
        """The words that cards may use."""
        return self.index.vocabulary

    def card(self, name: str) -> Card:
        """Return one card by id. Raises UnknownName, with the nearest ids."""
        try:
            return self.index.card(name)
        except KeyError:
            raise UnknownName("card", [name], self.index.card_ids) from None

    def rebuild(self, *, fresh: bool = False) -> "BuildReport":
        """Bring the index up to date, or build it from nothing when `fresh`."""
        from kb.index.build import build_index

        self.forget()
        return build_index(self.folder, self.encoder, self._progress, fresh=fresh)

    def watch(self) -> "Iterator[BuildReport]":
        """Watch the folder: bring the index up to date after every edit, and yield what was done each time."""
        from kb.index.home import index_home, sources_stamp
        from kb.keep.watch import changes

        for _ in changes(lambda: sources_stamp(self.folder), index_home(self.folder)):
            yield self.rebuild()

    def forget(self) -> None:
        """Let go of what was read, so that the next use reads the folder as it is then."""
        for name in CACHED:
            self.__dict__.pop(name, None)


CACHED = ("index", "collection", "searcher", "problems", "_drafter")
"""What is worked out once and kept."""

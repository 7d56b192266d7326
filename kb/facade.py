"""What other programs, the command line and the pages use: open a library, ask it, look at a card."""

import os
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import FileUnusable, OutOfRange, UnknownName, UsageError
from kb.library.files import TRAINED, starter_library
from kb.model import Answer, Card, Ladder, Problem, Question, Sizes, Vocabulary

if TYPE_CHECKING:
    from kb.index.build import BuildReport
    from kb.index.encode import Encoder
    from kb.index.store import Index
    from kb.library import Collection
    from kb.model import SquadSizes
    from kb.search import Searcher
    from kb.size import Child
    from kb.size.stock import KitLine

Say = Callable[[str], None]
Progress = Callable[[int, int], None]

LIBRARY_VARIABLE = "DRILLKB_LIBRARY"
"""Environment variable that names the library when nothing else does."""


def open_library(
    path: Path | str | None = None,
    *,
    say: Say | None = None,
    progress: Progress | None = None,
    encoder: "Encoder | None" = None,
    general: bool = False,
) -> "Library":
    """Open a drill library; without a path the one that DRILLKB_LIBRARY names, else the starter library.

    Args:
        path: the library's folder.
        say: hears one line when the index has to be built, with the reason.
        progress: called with texts encoded so far and in all, while the index is built.
        encoder: the text encoder; when None the one trained on the library's words, else the general one.
        general: leave aside what was learned from the library's words.

    Nothing is read before the first question; errors of the folder (LibraryUnusable) come then.
    """
    folder = Path(path or os.environ.get(LIBRARY_VARIABLE) or starter_library())
    return Library(folder, say, progress, encoder, general=general)


class Library:
    """A drill library that can be asked."""

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

    def ask(  # noqa: PLR0913 - the limits of a question, each by name
        self,
        text: str,
        *,
        event: str | None = None,
        level: int | None = None,
        without: tuple[str, ...] = (),
        have: dict[str, int] | None = None,
        spotters: int | None = None,
        height: int | None = None,
        age: int | None = None,
        kit: "tuple[KitLine, ...] | None" = None,
        ignore: tuple[str, ...] = (),
        top: int = 5,
    ) -> Answer:
        """Answer a question in the coach's words; each limit overrides what the words say.

        With a height (cm) or an age (years) the drills carry the sizes of their stations. `kit` is a kit list as
        `kit_list` reads it and stands for `have` too. `ignore` names readings to take back: fields of the question
        ('level', 'without', ...) and 'spelling'.

        Raises UnknownName for an event or piece of kit that the library does not have, OutOfRange for a level.
        """
        from kb.search import Limits, ask

        if height is not None or age is not None:
            self._child(height, age)
        limits = Limits(
            event=event,
            level=level,
            without=tuple(without),
            have=have if have is not None or kit is None else _counts(kit),
            spotters=spotters,
            height_cm=height,
            age=age,
            kit=kit,
            ignore=tuple(ignore),
            top=top,
        )
        return ask(text, limits, self.searcher)

    def kit(self, path: Path) -> dict[str, int]:
        """Return how many there are of each piece in a kit list. Raises FileUnusable."""
        from kb.library.kitfile import read_kit

        return read_kit(path, self.vocabulary.equipment).counts()

    def kit_list(self, path: Path) -> "tuple[KitLine, ...]":
        """Return the lines of a kit list: item, count, the club's own size in cm or None. Raises FileUnusable."""
        from kb.library.kitfile import read_kit

        return tuple((piece.item, piece.count, piece.cm) for piece in read_kit(path, self.vocabulary.equipment).items)

    def size(  # noqa: PLR0913 - what is known of the child, each by name
        self,
        name: str,
        *,
        height: float | None = None,
        age: float | None = None,
        level: int | None = None,
        kit: "tuple[KitLine, ...] | None" = None,
        measured: dict[str, float] | None = None,
    ) -> Sizes:
        """Return the sizes of a card's station for a child of a height (cm) or age (years), built from a kit list.

        `measured` gives lengths taken on her, by rule; they win over the estimate. When the station cannot be built,
        `instead` names cards for the same fault that can.

        Raises UnknownName for a card or rule, OutOfRange for a child the rules are not for, UsageError for a kit list
        without what must catch her.
        """
        from msgspec.structs import replace

        from kb.size import station_sizes

        card = self.card(name)
        if unknown := [rule for rule in measured or {} if rule not in self.vocabulary.sizes]:
            raise UnknownName("size rule", unknown, self.vocabulary.sizes)
        child = self._child(height, age, level, measured)
        sizes = station_sizes(card, [child], self.vocabulary, kit)
        if sizes is None or sizes.fits or kit is None:
            return sizes or Sizes(name, child.height, ())
        return replace(sizes, instead=tuple(self._buildable(card, child, kit)))

    def squad_size(
        self, name: str, groups: Path, *, group: str | None = None, kit: "tuple[KitLine, ...] | None" = None
    ) -> "SquadSizes":
        """Return a card's station for the squads of a file (or one of them), rebuilt as few times as possible.

        Raises UnknownName for a card or squad, FileUnusable, OutOfRange, and UsageError when no heights are given.
        """
        from kb.library.groupsfile import read_groups
        from kb.size import squad_sizes

        squads = read_groups(groups).groups
        if group is not None and group not in (names := [squad.name for squad in squads]):
            raise UnknownName("squad", [group], names)
        children = [
            (f"{squad.name} {number}", self._child(height, None, squad.level))
            for squad in squads
            if group in (None, squad.name)
            for number, height in enumerate(squad.heights, start=1)
        ]
        if not children:
            raise UsageError(f"{groups} gives no heights for this squad; add 'heights: [...]', one for each child.")
        return squad_sizes(self.card(name), children, self.vocabulary, kit)

    def _child(
        self,
        height: float | None,
        age: float | None,
        level: int | None = None,
        measured: dict[str, float] | None = None,
    ) -> "Child":
        from kb.size import child_of

        levels = self.vocabulary.levels
        if level is not None and level not in levels:
            raise OutOfRange("the level", level, f"from {min(levels)} to {max(levels)}")
        return child_of(height, age, level, measured)

    def _buildable(self, card: Card, child: "Child", kit: "tuple[KitLine, ...]") -> list[str]:
        """Return up to three cards for the same faults, no higher in stage, whose kit is there and whose sizes fit."""
        from kb.search.fit import kit_there
        from kb.size import station_sizes

        order = {name: stage.order for name, stage in self.vocabulary.stages.items()}
        faults = {use.fault for use in card.corrects}
        question = Question(text="", symptom="", have=_counts(kit))
        found: list[str] = []
        near = [other for other in map(self.index.card, self.index.card_ids) if other.id != card.id]
        shared = [other for other in near if faults & {use.fault for use in other.corrects}]
        level = child.level or card.levels[0]
        for other in sorted(shared, key=lambda one: (order[card.stage] - order[one.stage], one.id)):
            if order[other.stage] > order[card.stage] or not other.fits_level(level) or len(found) == 3:
                continue
            if kit_there(other, question, self.index):
                continue
            sizes = station_sizes(other, [child], self.vocabulary, kit, advise=False)
            if sizes is not None and sizes.fits:
                found.append(other.id)
        return found

    def card(self, name: str) -> Card:
        """Return one card by id. Raises UnknownName, with the nearest ids."""
        try:
            return self.index.card(name)
        except KeyError:
            raise UnknownName("card", [name], self.index.card_ids) from None

    def picture(self, name: str, *, sizes: Sizes | None = None) -> str | None:
        """Return the drawing of a card as SVG, at the sizes of a child when given; None when the card has no figure.

        Raises UnknownName, with the nearest ids.
        """
        from kb.draw.card import card_svg

        return card_svg(self.card(name), self.vocabulary, sizes)

    def drawn_for(self, name: str, sizes: Sizes | None = None) -> float:
        """Return the height in cm of the child in the picture: that of the sizes where it can be drawn so."""
        from kb.draw.card import drawn_for

        return drawn_for(self.card(name), self.vocabulary, sizes)

    def write_picture(self, name: str, path: Path, *, sizes: Sizes | None = None) -> None:
        """Draw a card into a .svg or .png file. Raises UnknownName, UsageError, FileUnusable."""
        if path.suffix.lower() not in (".svg", ".png"):
            raise UsageError(f"{path} must end with .svg or .png.")
        svg = self.picture(name, sizes=sizes)
        if svg is None:
            raise UsageError(f"{name} has no figure to draw; add one to the card.")
        try:
            if path.suffix.lower() == ".svg":
                path.write_text(svg, "utf-8")
            else:
                from kb.draw.png import picture_png

                path.write_bytes(picture_png(svg))
        except OSError as error:
            raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None

    def ladder(  # noqa: PLR0913 - the limits of a ladder, each by name
        self,
        name: str,
        *,
        level: int | None = None,
        without: tuple[str, ...] = (),
        have: dict[str, int] | None = None,
        spotters: int | None = None,
        afraid: bool = False,
    ) -> Ladder:
        """Return the ladder of a skill (its id or a name for it), or of the main skill of a card.

        Raises UnknownName for a name that is neither, with the nearest; OutOfRange for a level.
        """
        from kb.search.ladder import limited_ladder, smallest_steps
        from kb.search.limits import Limits
        from kb.search.read import read_question

        limits = Limits(None, level, tuple(without), have, spotters)
        question = read_question("", limits, self.vocabulary, self.searcher.kit, self.searcher.speller)
        skill, card = self._skill_of(name)
        return (smallest_steps if afraid else limited_ladder)(skill, question, self.index, card=card)

    def _skill_of(self, name: str) -> tuple[str, str | None]:
        """Return the skill that a name means, and the card when it names one."""
        from kb.search.skill import named_skill

        words = self.vocabulary
        if name in words.skills:
            return name, None
        if name in self.index.card_ids:
            return self.index.card(name).skills[0], name
        said = name.lower()
        event = next((one for one in words.events if one in said.split()), None)  # "beam handstand" is beam's
        skill, _ = named_skill(said, event, self.index)
        if skill is None:
            raise UnknownName("skill or card", [name], [*words.skills, *self.index.card_ids])
        return skill.id, None

    def write_map(self) -> Path:
        """Write MAP.md into the library's folder and return its path. Raises FileUnusable."""
        from kb.ladder.map import library_map

        path = self.folder / "MAP.md"
        try:
            path.write_text(library_map(self.collection), "utf-8")
        except OSError as error:
            raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
        return path

    def rebuild(self, *, fresh: bool = False) -> "BuildReport":
        """Bring the index up to date, or build it from nothing when `fresh`."""
        from kb.index.build import build_index

        for name in ("index", "collection", "searcher"):
            self.__dict__.pop(name, None)
        return build_index(self.folder, self.encoder, self._progress, fresh=fresh)


def _counts(kit: "tuple[KitLine, ...]") -> dict[str, int]:
    """Return how many there are of each piece, pieces of different sizes added up."""
    found: dict[str, int] = {}
    for name, count, _ in kit:
        found[name] = found.get(name, 0) + count
    return found

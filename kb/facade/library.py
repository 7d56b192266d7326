"""What other programs, the command line and the pages use: open a library, ask it, look at a card."""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.facade.base import Progress, Say
from kb.facade.hearing import Hearing
from kb.facade.keep import Keeping
from kb.facade.planning import Planning
from kb.facade.sizing import counts
from kb.library.files import starter_library
from kb.model import Answer, Ladder, SheetOrder, Sizes

if TYPE_CHECKING:
    from kb.index.encode import Encoder
    from kb.model import Paper, Sheet
    from kb.model.keep import Exported
    from kb.size.stock import KitLine

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
    folder = Path(path or os.environ.get(LIBRARY_VARIABLE) or starter_library()).absolute()
    return Library(folder, say, progress, encoder, general=general)


class Library(Planning, Hearing, Keeping):
    """A drill library that can be asked."""

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
        group: str | None = None,
        top: int = 5,
    ) -> Answer:
        """Answer a question in the coach's words; each limit overrides what the words say.

        With a height (cm) or an age (years) the drills carry the sizes of their stations. `kit` is a kit list as
        `kit_list` reads it and stands for `have` too. `ignore` names readings to take back: fields of the question
        ('level', 'without', ...) and 'spelling'. `group` is the squad whose practice log counts; all without one.

        Raises UnknownName for an event or piece of kit that the library does not have, OutOfRange for a level.
        """
        from kb.search import Limits, ask

        if height is not None or age is not None:
            self._child(height, age)
        limits = Limits(
            event=event,
            level=level,
            without=tuple(without),
            have=have if have is not None or kit is None else counts(kit),
            spotters=spotters,
            height_cm=height,
            age=age,
            kit=kit,
            ignore=tuple(ignore),
            top=top,
        )
        return ask(text, limits, self.searcher, self.uses(group))

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
        from kb.draw.png import check_suffix, write_svg

        check_suffix(path)
        svg = self.picture(name, sizes=sizes)
        if svg is None:
            raise UsageError(f"{name} has no figure to draw; add one to the card.")
        write_svg(svg, path)

    def ladder(  # noqa: PLR0913 - the limits of a ladder, each by name
        self,
        name: str,
        *,
        level: int | None = None,
        without: tuple[str, ...] = (),
        have: dict[str, int] | None = None,
        spotters: int | None = None,
        afraid: bool = False,
        group: str | None = None,
    ) -> Ladder:
        """Return the ladder of a skill (its id or a name for it), or of the main skill of a card.

        On a rung a card that did not help stands below one that did, by the practice log of one squad or of all; with
        `afraid` the smallest steps stay, and the log is only told.

        Raises UnknownName for a name that is neither, with the nearest; OutOfRange for a level.
        """
        from kb.search.ladder import limited_ladder, smallest_steps
        from kb.search.limits import Limits
        from kb.search.read import read_question

        limits = Limits(None, level, tuple(without), have, spotters)
        question = read_question("", limits, self.vocabulary, self.searcher.kit, self.searcher.speller)
        skill, card = self._skill_of(name)
        ladder = (smallest_steps if afraid else limited_ladder)(skill, question, self.index, card=card)
        uses = self.uses(group)
        if not uses:
            return ladder
        from kb.search.used import ladder_with_log

        return ladder_with_log(ladder, uses, self.index, keep=afraid)

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

    def handout(self, order: "SheetOrder") -> "Sheet":
        """Return a printed sheet for questions, cards, a ladder, a fault, a plan or a book.

        Raises UsageError for an order without anything to print, UnknownName, OutOfRange, FileUnusable.
        """
        from kb.handout import build_sheet

        return build_sheet(order, self)

    def write_handout(self, sheet: "Sheet", path: Path, paper: "Paper" = "a4") -> tuple[Path, ...]:
        """Write a sheet as .pdf, .html or .md and return what was written. Raises UsageError, FileUnusable."""
        from kb.handout import write_sheet

        return write_sheet(sheet, path, paper)

    def export_book(self, path: Path, events: tuple[str, ...] = ()) -> "Exported":
        """Print the whole library, or one event of it, as a book into a new .pdf file.

        Raises UsageError for a file that is there or for more than one event, UnknownName, FileUnusable.
        """
        from kb.model.keep import Exported

        if path.exists():
            raise UsageError(f"{path} is there already and is not overwritten; choose another name.")
        if len(events) > 1:
            raise UsageError("A book holds one event or the whole library; leave --event out, or name one.")
        sheet = self.handout(SheetOrder(kind="book", event=events[0] if events else None))
        self.write_handout(sheet, path)
        return Exported(str(path), len(sheet.drills), ())

    def write_map(self) -> Path:
        """Write MAP.md into the library's folder and return its path. Raises FileUnusable."""
        from kb.ladder.map import library_map

        path = self.folder / "MAP.md"
        try:
            path.write_text(library_map(self.collection), "utf-8")
        except OSError as error:
            raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
        return path

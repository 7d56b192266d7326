"""What a library can do to be kept: new cards, imports and exports, its holes, its schema."""

from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from kb.model import Answer

if TYPE_CHECKING:
    from kb.keep.draft import Drafter
    from kb.library import Collection as Cards
    from kb.model.keep import Column, Draft, Exported, Gap, Imported, ImportPlan, Suggestion, Undone


class Kept(Protocol):
    """What keeping needs of a library."""

    folder: Path

    @property
    def collection(self) -> "Cards":
        """The library as it stands in the folder."""

    @property
    def drafter(self) -> "Drafter":
        """What makes new cards."""

    def ask(self, text: str, *, event: str | None = None, top: int = 5) -> Answer:
        """Answer a question in the coach's words."""

    def refresh(self) -> None:
        """Read the folder anew at the next call."""

    def forget(self) -> None:
        """Let go of what was read."""


class Keeping:
    """The part of a Library that writes."""

    def refresh(self: Kept) -> None:
        """Read the folder anew at the next call; a changed library brings its index up to date by itself."""
        self.forget()

    @property
    def drafter(self: Kept) -> "Drafter":
        """What makes new cards."""
        from kb.keep.draft import Drafter

        if "_drafter" not in self.__dict__:
            self.__dict__["_drafter"] = Drafter(self.collection, lambda text, event: self.ask(text, event=event))
        made: Drafter = self.__dict__["_drafter"]
        return made

    def note(self: Kept, text: str) -> dict[str, str]:
        """Return the fields of a card that a pasted note tells."""
        from kb.keep.note import note_fields

        return note_fields(text, self.collection.vocabulary)

    def suggest(self: Kept, field: str, fields: Mapping[str, str]) -> "Suggestion":
        """Return the question for a field of a new card, what Enter answers, and what search offers."""
        return self.drafter.suggest(field, fields)

    def draft(self: Kept, fields: Mapping[str, str]) -> "Draft":
        """Return the card that the fields make, with its problems and near-twins; nothing is written.

        Raises UsageError without a title, for an unknown event or a name that is taken, UnknownName for a field.
        """
        from kb.errors import UnknownName
        from kb.keep.fields import all_fields

        if unknown := [name for name in fields if name not in all_fields() and name not in ("seen", "noted")]:
            raise UnknownName("field of a card", unknown, all_fields())
        return self.drafter.draft(fields)

    def write(self: Kept, draft: "Draft") -> Path:
        """Write a draft into its event's folder. Raises LibraryUnusable for the starter library, FileUnusable."""
        from kb.keep.draft import write
        from kb.keep.store import refuse_unless_own

        refuse_unless_own(self.folder)
        write(draft, self.collection)
        self.refresh()
        return self.folder / draft.file

    def may_write(self: Kept) -> None:
        """Raise LibraryUnusable when the library is the starter library or cannot be written to."""
        from kb.keep.store import refuse_unless_own

        refuse_unless_own(self.folder)

    def columns(self: Kept, path: Path, given: Mapping[str, str] | None = None) -> "tuple[Column, ...]":
        """Return what the columns of a CSV or XLSX seem to hold. Raises FileUnusable, UnknownName."""
        from kb.keep.bring import table_columns

        return table_columns(path, given or {})

    def plan_import(
        self: Kept,
        path: Path,
        *,
        columns: Mapping[str, str] | None = None,
        fixed: Mapping[str, str] | None = None,
        take: Collection[str] = (),
    ) -> "ImportPlan":
        """Say what importing a zip, folder, CSV or XLSX would do; nothing is written.

        `columns` maps columns to fields, `fixed` fills fields that rows leave open, `take` names cards that come in
        although they clash ('*' for all). Raises FileUnusable, UnknownName, UsageError.
        """
        from kb.errors import FileUnusable
        from kb.keep.bring import plan_cards, plan_table
        from kb.keep.sheet import is_sheet

        if not path.exists():
            raise FileUnusable(path, 0, "there is no such file or folder.")
        if path.is_file() and is_sheet(path):
            offer = lambda fields: self.drafter.choices("corrects", fields)  # noqa: E731 - the index is opened only if asked
            return plan_table(path, self.collection, columns or {}, fixed or {}, take=take, offer=offer)
        return plan_cards(path, self.collection, take)

    def take_in(self: Kept, plan: "ImportPlan") -> "Imported":
        """Bring the cards of a plan in, all or none. Raises LibraryUnusable, UsageError, FileUnusable."""
        from kb.keep.store import refuse_unless_own, take_in
        from kb.model.keep import Imported

        refuse_unless_own(self.folder)
        files = {card.file: card.text for card in plan.coming}
        if not files:
            return Imported("", plan.source, ())
        record = take_in(self.folder, plan.source, files)
        self.refresh()
        return Imported(record.number, record.source, tuple(files))

    def write_rest(self, plan: "ImportPlan", folder: Path) -> int:
        """Write the cards of a plan that have problems into a new folder, with the reasons. Raises FileUnusable."""
        from kb.keep.bring import write_rest

        return write_rest(plan, folder)

    def undo_import(self: Kept) -> "Undone":
        """Take the last import out again. Raises LibraryUnusable, UsageError, FileUnusable."""
        from kb.keep.store import refuse_unless_own, take_back
        from kb.model.keep import Undone

        refuse_unless_own(self.folder)
        record, removed, kept = take_back(self.folder)
        self.refresh()
        gone = {Path(file).stem for file in removed}
        cards = self.collection.cards.values()
        missed = tuple(card.id for card in cards if gone & {*card.after, card.no_spot_twin})
        return Undone(record.number, record.source, removed, kept, missed)

    def export(self: Kept, path: Path, events: Sequence[str] = ()) -> "Exported":
        """Write the cards into a new .zip, .csv or .json file. Raises UsageError, UnknownName, FileUnusable."""
        from kb.keep.export import export_cards

        return export_cards(self.collection, path, events)

    def copy_to(self: Kept, folder: Path) -> "Exported":
        """Copy the whole library into a new folder, to write in. Raises UsageError, FileUnusable."""
        from kb.keep.export import copy_library

        return copy_library(self.collection, folder)

    def schema(self: Kept) -> dict[str, Any]:
        """Return the JSON Schema of a card's front matter, with this library's words."""
        from kb.keep.schema import front_matter_schema

        return front_matter_schema(self.collection.vocabulary)

    def gaps(self: Kept, progress: Callable[[int, int], None] | None = None) -> "tuple[Gap, ...]":
        """Return the holes of the library; every way a fault is heard is asked, about 15 ms each."""
        from kb.keep.gaps import find_gaps

        return find_gaps(self.collection, lambda text, event: self.ask(text, event=event, top=1), progress)

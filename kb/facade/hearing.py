"""What a library hears: a club's own words, and questions that found nothing."""

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from kb.errors import UnknownName, UsageError
from kb.facade.base import Base
from kb.model import Answer

if TYPE_CHECKING:
    from kb.keep.asked import Asked


class Heard(Struct, frozen=True):
    """What hearing new words changed."""

    words: str
    fault: str
    before: int | None
    """Place of the fault in the answer before, from 1; None when it was not in it."""
    after: int | None
    """Place now."""


class Hearing(Base):
    """What a library hears."""

    def hear(self, words: str, fault: str) -> Heard:
        """Let the club's words mean a fault, at once. Raises UnknownName, UsageError, FileUnusable, LibraryUnusable.

        Words that read as a stop-and-refer sign are refused: they must never lead to a drill.
        """
        from kb.keep.asked import forget
        from kb.keep.said import add_said

        faults = self.vocabulary.faults
        if fault not in faults:
            raise UnknownName("fault", [fault], faults)
        answer = self._answer(words)
        if answer.caution:
            sign = answer.caution.name
            raise UsageError(f"'{words}' reads as a stop-and-refer sign ({sign}); it must not lead to a drill.")
        self._writable()
        before = _place(answer, fault)
        add_said(self.folder, faults[fault].event, fault, words)
        self.rebuild()
        forget(self.home, words)
        return Heard(" ".join(words.split()), fault, before, _place(self._answer(words), fault))

    def unhear(self) -> tuple[str, str]:
        """Take the last words back that were heard; return fault and words. Raises UsageError when there are none."""
        from kb.keep.said import undo_said

        self._writable()
        fault, words = undo_said(self.folder)
        self.rebuild()
        return fault, words

    def note_question(self, answer: Answer, *, follows: bool = True) -> None:
        """Keep a question on this machine when it found nothing or was asked again in other words.

        `follows` says that it comes from the one who asked the question before.
        """
        import time

        from kb.keep.asked import Last, note

        if answer.verdict == "stop_and_refer":
            return
        question = answer.question
        now = Last(time.time(), question.text, question.event, question.symptom)
        note(self.home, now, found=answer.verdict == "answered", follows=follows)

    def asked_in_vain(self) -> "list[Asked]":
        """Return the questions that were kept, the newest last."""
        from kb.keep.asked import kept

        return kept(self.home)

    def keep_questions(self, *, on: bool) -> None:
        """Switch the keeping of questions on, or off (and throw away what was kept)."""
        from kb.keep.asked import switch

        switch(self.home, on=on)

    @property
    def home(self) -> Path:
        """The folder of the index, where what is kept of questions lies too."""
        from kb.index.home import index_home

        return index_home(self.folder)

    def _answer(self, words: str) -> Answer:
        from kb.search import Limits, ask

        return ask(words, Limits(top=1), self.searcher)

    def _writable(self) -> None:
        from kb.keep.store import refuse_unless_own

        refuse_unless_own(self.folder)


def _place(answer: Answer, fault: str) -> int | None:
    names = [match.id for match in answer.faults] if answer.verdict == "answered" else []
    return names.index(fault) + 1 if fault in names else None

"""Keeping a library: a card being written, an import before and after, and the holes that are left."""

from typing import Literal

from msgspec import Struct

from kb.model.problem import Problem


class Choice(Struct, frozen=True):
    """One answer that is offered."""

    value: str
    """The answer as it would be typed."""
    text: str
    """What it means."""


class Suggestion(Struct, frozen=True):
    """A question about a new card, with what may be answered."""

    field: str
    ask: str
    default: str
    """What Enter answers; empty when nothing can be taken for granted."""
    choices: tuple[Choice, ...] = ()


class Twin(Struct, frozen=True):
    """A card that looks like another one."""

    card: str
    title: str
    likeness: float
    """0 to 1, of the title or of the steps, whichever is more alike."""
    alike: Literal["title", "steps"]


class Draft(Struct, frozen=True):
    """A card that is not written yet."""

    id: str
    file: str
    """Where it goes inside the library."""
    text: str
    filled: tuple[str, ...]
    """Fields that were filled in with what is usual."""
    problems: tuple[Problem, ...]
    twins: tuple[Twin, ...]

    @property
    def kept_out(self) -> bool:
        """Whether a problem keeps the card out of answers."""
        return any(problem.keeps_out and not problem.warning for problem in self.problems)


class Column(Struct, frozen=True):
    """A column of a table and the field of a card that it holds."""

    column: str
    field: str
    """Empty when the column is not used."""
    how: Literal["given", "same name", "similar name", "not used"]
    example: str = ""
    """The first thing that stands in it."""


class Clash(Struct, frozen=True):
    """An incoming card beside the one of the library that it meets."""

    kind: Literal["same name", "near twin"]
    card: str
    """The library's card."""
    likeness: float
    pairs: tuple[tuple[str, str, str], ...]
    """Field, what the library has, what comes in; only where the two differ."""


class Incoming(Struct, frozen=True):
    """One card of an import."""

    source: str
    """The file or the row that it comes from."""
    id: str
    file: str
    """Where it goes inside the library; empty when it does not come in."""
    title: str
    state: Literal["comes in", "comes in renamed", "already there", "clash", "has problems"]
    text: str = ""
    problems: tuple[Problem, ...] = ()
    clash: Clash | None = None


class ImportPlan(Struct, frozen=True):
    """What an import would do; nothing has been written."""

    source: str
    cards: tuple[Incoming, ...]
    columns: tuple[Column, ...] = ()
    notes: tuple[str, ...] = ()
    """What else was found: files left aside, how the text was decoded."""

    @property
    def coming(self) -> tuple[Incoming, ...]:
        """The cards that come in."""
        return tuple(card for card in self.cards if card.state.startswith("comes in"))


class Imported(Struct, frozen=True):
    """What an import did."""

    number: str
    source: str
    files: tuple[str, ...]


class Undone(Struct, frozen=True):
    """What taking an import back did."""

    number: str
    source: str
    removed: tuple[str, ...]
    kept: tuple[str, ...]
    """Cards that were edited since and stay."""
    missed_by: tuple[str, ...] = ()
    """Cards of the library that name a removed card in 'after' or as a twin."""


class Exported(Struct, frozen=True):
    """What an export wrote."""

    path: str
    cards: int
    left_out: tuple[str, ...] = ()
    """Card files that have problems and are not in it."""


class Gap(Struct, frozen=True, order=True):
    """A hole in the library."""

    kind: Literal["no low stage", "level", "needs kit", "needs a spotter", "thin ladder", "heard wrongly"]
    event: str
    name: str
    """The fault or the skill."""
    message: str

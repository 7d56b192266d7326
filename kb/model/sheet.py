"""A printed sheet: what is asked for, and everything that stands on it, as plain text and drawings."""

from pathlib import Path
from typing import Literal

from msgspec import Struct

from kb.model.types import Id

SheetKind = Literal["clinic", "station", "pocket", "book", "ladder"]
Paper = Literal["a4", "letter"]
NOTICE = "A qualified coach decides. Your federation's rules and the maker's limits come first."
"""Stands on every sheet."""


class SheetOrder(Struct, frozen=True, kw_only=True):
    """What a sheet is wanted of; questions, cards, a ladder, a fault, a plan and an event may stand together."""

    questions: tuple[str, ...] = ()
    cards: tuple[str, ...] = ()
    ladder: str | None = None
    """A skill, by id or by a name for it, or a card of its ladder."""
    fault: str | None = None
    plan: Path | None = None
    """A plan as `drillkb plan --json` prints it."""
    event: str | None = None
    """Where the questions belong; without questions the event whose book is wanted."""
    kind: SheetKind | None = None
    """What goes with the selection when it is None: a ladder its poster, an event its book, all else a clinic sheet."""
    level: int | None = None
    without: tuple[str, ...] = ()
    kit: Path | None = None
    """The club's kit list."""
    spotters: int | None = None
    height: float | None = None
    """cm."""
    age: float | None = None
    """Years."""
    squad: Path | None = None
    """A file of squads with heights, in place of one child's height."""
    group: str | None = None
    top: int = 3
    """Drills for one question."""
    title: str | None = None
    club: str | None = None
    """The club of the kit list or of the squads when it is None."""
    date: str | None = None
    """YYYY-MM-DD; today when it is None."""
    link: str | None = None
    """A web address of the club, printed as a QR code."""


class Run(Struct, frozen=True):
    """Words in one weight."""

    text: str
    bold: bool = False


Line = tuple[Run, ...]


class Block(Struct, frozen=True):
    """A paragraph, or a list of points or steps."""

    kind: Literal["text", "points", "steps"]
    lines: tuple[Line, ...]


class SheetSection(Struct, frozen=True):
    """One heading of a card and what stands under it."""

    name: str
    blocks: tuple[Block, ...]


class SheetCode(Struct, frozen=True):
    """A web address and its QR code as SVG."""

    url: str
    says: str
    svg: str


class SheetSize(Struct, frozen=True):
    """One piece of a station to size."""

    piece: str
    size: str
    build: str = ""


class SheetBuild(Struct, frozen=True):
    """One way in which a station stands, and the children it is for."""

    children: str
    sizes: tuple[SheetSize, ...]


class SheetPiece(Struct, frozen=True):
    """Kit to carry."""

    item: Id
    name: str
    count: int
    note: str = ""


class SheetDrill(Struct, frozen=True, kw_only=True):
    """A drill as it is printed."""

    id: Id
    number: int
    """Its place on the sheet, from 1."""
    title: str
    event: str
    levels: str
    stage: str
    rung: str
    before: str
    """What to be ready on first; empty when nothing."""
    kit: tuple[SheetPiece, ...]
    for_whom: str
    """Whose sizes these are; empty without sizes."""
    builds: tuple[SheetBuild, ...]
    spot: str
    hands: str
    twin: str
    """The drill that needs no spotter, when there is one."""
    group: str
    ready_when: str
    cues: tuple[str, ...]
    stop: str
    """When to stop."""
    sections: tuple[SheetSection, ...]
    """The headings of the card, in their order."""
    picture: str
    """SVG; empty without a figure."""
    picture_says: str
    """What the picture shows, for those who cannot see it."""
    drawn_for: str
    code: SheetCode | None
    sources: str

    def section(self, name: str) -> tuple[Block, ...]:
        """Return what stands under a heading."""
        return next((section.blocks for section in self.sections if section.name == name), ())


class SheetCause(Struct, frozen=True):
    """A likely cause and its check."""

    name: str
    tell: str


class SheetRung(Struct, frozen=True):
    """One step of a ladder."""

    rung: int
    drill: Id
    title: str
    about: str
    """Stage, levels and spotting."""
    ready_when: str
    others: tuple[str, ...]
    """Other drills of this rung, and what each is beside it."""
    start: bool
    closed: str
    picture: str
    picture_says: str


class SheetSign(Struct, frozen=True):
    """A stop-and-refer sign."""

    name: str
    say: str
    source: str
    heard: str = ""
    """The words of the question that are the sign."""


class SheetTurn(Struct, frozen=True):
    """One line of a rotation: when, and who is where with which drill."""

    when: str
    who: str
    event: str
    drill: str
    coach: str


class SheetPart(Struct, frozen=True, kw_only=True):
    """A question, a ladder, a fault or a list of drills, with what belongs to it."""

    title: str
    asked: str = ""
    """The coach's own words."""
    about: tuple[str, ...] = ()
    """Lines under the title: what was read, what it may be besides."""
    looks_like: str = ""
    causes: tuple[SheetCause, ...] = ()
    sign: SheetSign | None = None
    rungs: tuple[SheetRung, ...] = ()
    turns: tuple[SheetTurn, ...] = ()
    drills: tuple[Id, ...] = ()
    aside: tuple[str, ...] = ()
    """What the limits took away, with the reason."""


class KitTotal(Struct, frozen=True):
    """What to carry of one piece."""

    name: str
    together: int
    """When all stations stand at once."""
    most: int
    """The most that one station needs."""
    owned: int | None
    """What the kit list has; None without one."""
    drills: tuple[int, ...]
    """Numbers of the drills that need it."""


class IndexLine(Struct, frozen=True):
    """A word of the index and the drills it leads to."""

    name: str
    drills: tuple[Id, ...]


class IndexGroup(Struct, frozen=True):
    """One of the indexes of a book."""

    title: str
    lines: tuple[IndexLine, ...]


class Sheet(Struct, frozen=True, kw_only=True):
    """Everything that stands on a sheet."""

    kind: SheetKind
    title: str
    club: str
    date: str
    """YYYY-MM-DD."""
    date_says: str
    """The date as it is read: 5 November 2026."""
    version: str
    """Of the program and of the library's text."""
    for_whom: tuple[str, ...]
    """What the sheet was made for: level, height or squad, kit."""
    notice: str
    parts: tuple[SheetPart, ...]
    drills: tuple[SheetDrill, ...]
    kit: tuple[KitTotal, ...]
    indexes: tuple[IndexGroup, ...]
    signs: tuple[SheetSign, ...]
    code: SheetCode | None
    """The club's own page."""

"""From what is wanted to everything that stands on the sheet."""

from collections.abc import Iterable, Iterator
from datetime import date
from importlib.metadata import version
from itertools import chain

from kb.errors import OutOfRange, UnknownName, UsageError
from kb.handout.codes import code_of
from kb.handout.drill import sheet_drill
from kb.handout.parts import Parts
from kb.handout.plain import clean
from kb.handout.sizes import Fitter
from kb.handout.source import KitLines, Source
from kb.library.groupsfile import GroupsFile, read_groups
from kb.library.kitfile import read_kit
from kb.model import Card, Vocabulary
from kb.model.sheet import (
    NOTICE,
    IndexGroup,
    IndexLine,
    KitTotal,
    Sheet,
    SheetDrill,
    SheetKind,
    SheetOrder,
    SheetPart,
    SheetSign,
)
from kb.size.words import long

MONTHS = "January February March April May June July August September October November December".split()
KINDS = ("mat", "block", "apparatus", "target", "hand", "hall")
"""Kinds of kit, the heaviest to carry first."""


def build_sheet(order: SheetOrder, source: Source) -> Sheet:
    """Return the sheet for an order.

    Raises UsageError for an order without anything to print, UnknownName and OutOfRange for what the library does not
    have, FileUnusable for a kit list, squads or a plan that cannot be read.
    """
    return Maker(order, source).sheet()


class Maker:
    """Makes one sheet."""

    def __init__(self, order: SheetOrder, source: Source) -> None:
        self.order, self.source = order, source
        self.words = source.vocabulary
        self.kind = _kind(order)
        self.kit = read_kit(order.kit, self.words.equipment) if order.kit else None
        self.groups = read_groups(order.squad) if order.squad else None
        self.level = _level(order, self.words, self.groups)
        lines: KitLines | None = tuple((p.item, p.count, p.cm) for p in self.kit.items) if self.kit else None
        self.fitter = Fitter(order, source, lines, self.level)
        _ = self.fitter.child  # a height out of range is refused at once, whatever is printed

    def sheet(self) -> Sheet:
        """Put everything together."""
        order, kind = self.order, self.kind
        parts = tuple(Parts(order, kind, self.source, self.fitter).all())
        names = dict.fromkeys(chain.from_iterable(part.drills for part in parts))
        cards = [self.source.card(name) for name in names]
        drills = tuple(sheet_drill(n, card, self.fitter, self.source) for n, card in enumerate(cards, start=1))
        day = _day(order.date)
        return Sheet(
            kind=kind,
            title=clean(order.title or "") or self._title(parts),
            club=clean(order.club or self._club()),
            date=day.isoformat(),
            date_says=f"{day.day} {MONTHS[day.month - 1]} {day.year}",
            version=f"drillkb {version('drillkb')}, library {self.source.index.version}",
            for_whom=tuple(map(clean, self._for_whom())),
            notice=NOTICE,
            parts=parts,
            drills=drills,
            kit=self._totals(drills) if kind in ("clinic", "station") else (),
            indexes=self._indexes(cards) if kind == "book" else (),
            signs=self._signs() if kind in ("clinic", "book") else (),
            code=code_of(order.link, "Our page") if order.link else None,
        )

    def _title(self, parts: tuple[SheetPart, ...]) -> str:
        if self.kind == "ladder":
            return parts[0].title
        if self.kind == "clinic":
            return parts[0].title if len(parts) == 1 else "Clinic sheet"
        named = f": {parts[0].title}" if len(parts) == 1 and self.kind == "book" else ""
        return {"station": "Station cards", "pocket": "Pocket cards", "book": "Drill book"}[self.kind] + named

    def _club(self) -> str:
        return next((found.club for found in (self.kit, self.groups) if found and found.club), "")

    def _for_whom(self) -> Iterator[str]:
        order = self.order
        if self.level is not None:
            yield self.words.levels[self.level].name
        if order.squad:
            yield f"To the heights of {order.group or 'all squads'}"
        elif order.height is not None:
            yield f"To the height of a child of {long(order.height)}"
        elif order.age is not None:
            yield f"For a child of {order.age:g} years, not measured"
        if order.kit:
            yield "Built from the club's own kit"
        if order.without:
            yield f"Without {', '.join(order.without)}"
        if order.spotters is not None:
            yield f"Coaches free to spot: {order.spotters}"

    def _totals(self, drills: Iterable[SheetDrill]) -> tuple[KitTotal, ...]:
        found: dict[str, list[tuple[int, int]]] = {}
        for drill in drills:
            for piece in drill.kit:
                found.setdefault(piece.item, []).append((drill.number, piece.count))
        equipment, owned = self.words.equipment, self.fitter.have
        order = sorted(found, key=lambda item: (KINDS.index(equipment[item].kind), equipment[item].name))
        return tuple(
            KitTotal(
                clean(equipment[item].name),
                sum(count for _, count in found[item]),
                max(count for _, count in found[item]),
                None if owned is None or equipment[item].kind == "hall" else owned.get(item, 0),
                tuple(number for number, _ in found[item]),
            )
            for item in order
        )

    def _indexes(self, cards: list[Card]) -> tuple[IndexGroup, ...]:
        words = self.words
        faults = {name: fault.name for name, fault in words.faults.items()}
        skills = {name: skill.name for name, skill in words.skills.items()}
        kit = {name: piece.name for name, piece in words.equipment.items()}
        return (
            _index("By fault", faults, [(card.id, [use.fault for use in card.corrects]) for card in cards]),
            _index("By skill", skills, [(card.id, card.skills) for card in cards]),
            _index("By kit", kit, [(card.id, [piece.item for piece in card.equipment]) for card in cards]),
        )

    def _signs(self) -> tuple[SheetSign, ...]:
        return tuple(SheetSign(clean(c.name), clean(c.say), clean(c.source)) for c in self.words.cautions.values())


def _index(title: str, names: dict[str, str], cards: list[tuple[str, Iterable[str]]]) -> IndexGroup:
    found: dict[str, dict[str, None]] = {}
    for card, keys in cards:
        for key in keys:
            found.setdefault(clean(names.get(key, key)), {})[card] = None
    return IndexGroup(title, tuple(IndexLine(name, tuple(found[name])) for name in sorted(found, key=str.casefold)))


def _kind(order: SheetOrder) -> SheetKind:
    chosen = (order.questions, order.cards, order.ladder, order.fault, order.plan)
    if order.kind == "ladder" and (order.ladder is None or sum(map(bool, chosen)) > 1):
        raise UsageError("A ladder poster shows one skill: name it with --ladder, and nothing beside it.")
    if order.kind:
        if not any(chosen) and order.event is None and order.kind != "book":
            raise UsageError(
                f"Say what the {order.kind} sheet is for: words, --cards, --ladder, --fault, --plan or --event."
            )
        return order.kind
    if not any(chosen):
        if order.event is None:
            raise UsageError(
                "Say what the sheet is for: words, --cards, --ladder, --fault, --plan, --event or --kind book."
            )
        return "book"
    return "ladder" if order.ladder and sum(map(bool, chosen)) == 1 else "clinic"


def _level(order: SheetOrder, words: Vocabulary, groups: GroupsFile | None) -> int | None:
    if order.group is not None and groups is None:
        raise UsageError("--group names a squad of a file; give the file with --squad too.")
    if order.event is not None and order.event not in words.events:
        raise UnknownName("event", [order.event], words.events)
    if groups is not None and order.group is not None:
        squads = {squad.name: squad.level for squad in groups.groups}
        if order.group not in squads:
            raise UnknownName("squad", [order.group], squads)
        if order.level is None:
            return squads[order.group]
    if order.level is not None and order.level not in words.levels:
        raise OutOfRange("the level", order.level, f"from {min(words.levels)} to {max(words.levels)}")
    return order.level


def _day(text: str | None) -> date:
    if text is None:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"'{text}' is no date; write it as YYYY-MM-DD, for example 2026-11-05.") from None

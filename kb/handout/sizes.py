"""The sizes of a station for the child or the squad of a sheet, and the kit that it takes."""

from collections.abc import Iterable, Mapping
from functools import cached_property

from kb.errors import OutOfRange, UsageError
from kb.handout.plain import clean
from kb.handout.source import KitLines, Source
from kb.model import Card, Equipment, Question, SizedPiece, Sizes, SquadBuild
from kb.model.sheet import SheetBuild, SheetOrder, SheetPiece, SheetSize
from kb.search.fit import stand_in
from kb.size import Child, child_of, station_sizes
from kb.size.words import built, long, off, wanted


class Fitter:
    """Sizes cards for the child or squad of an order."""

    def __init__(self, order: SheetOrder, source: Source, kit: KitLines | None, level: int | None) -> None:
        self.order, self.source, self.kit, self.level = order, source, kit, level
        have: dict[str, int] | None = None
        if kit is not None:
            have = {}
            for item, count, _ in kit:
                have[item] = have.get(item, 0) + count
        self.have = have
        self.limits = Question("", "", level=level, have=have, without=order.without, spotters=order.spotters)

    @cached_property
    def child(self) -> Child | None:
        """The child, when a height or an age was given. Raises OutOfRange."""
        if self.order.height is None and self.order.age is None:
            return None
        return child_of(self.order.height, self.order.age, self.level)

    def fit(self, card: Card) -> tuple[tuple[SquadBuild, ...], str]:
        """Return the builds of a card's station, and a sentence where it cannot be sized."""
        if not card.size:
            return (), ""
        try:
            if self.order.squad is not None:
                found = self.source.squad_size(card.id, self.order.squad, group=self.order.group, kit=self.kit)
                alone = f"No build within the tolerance for {', '.join(found.alone)}: ask for each with a height."
                return found.builds, alone if found.alone else ""
            if self.child is None:
                return (), ""
            sizes = station_sizes(card, [self.child], self.source.vocabulary, self.kit)
        except OutOfRange:
            raise
        except UsageError as error:
            return (), clean(f"Not sized: {error}")
        one = (SquadBuild((), (self.child.height, self.child.height), sizes),) if sizes else ()
        return one, ""

    def pieces(self, card: Card, builds: Iterable[SquadBuild]) -> tuple[SheetPiece, ...]:
        """Return the kit of a card: what is built to size as the largest build takes it, the rest as listed."""
        equipment = self.source.vocabulary.equipment
        counts: dict[str, int] = {}
        notes: dict[str, str] = {}
        sized = _sized_items(card, builds)
        for piece in card.equipment:
            if piece.item in sized:
                continue
            used = stand_in(piece, self.limits, equipment) or piece.item
            counts[used] = counts.get(used, 0) + piece.count
            if used != piece.item:
                notes[used] = f"instead of {equipment[piece.item].name.lower()}"
        most: dict[str, int] = {}
        for build in builds:
            for item, count in _taken(build.sizes, equipment).items():
                most[item] = max(most.get(item, 0), count)
        for item, count in most.items():
            counts[item] = counts.get(item, 0) + count
        return tuple(SheetPiece(i, clean(equipment[i].name.lower()), n, notes.get(i, "")) for i, n in counts.items())


def largest(builds: Iterable[SquadBuild]) -> Sizes | None:
    """Return the sizes that most children of a squad share, the smaller ones of two alike."""
    found = list(builds)
    return max(found, key=lambda build: len(build.children)).sizes if found else None


def sheet_builds(builds: Iterable[SquadBuild]) -> tuple[SheetBuild, ...]:
    """Return the builds in words."""
    return tuple(SheetBuild(_children(build), tuple(map(_size, build.sizes.pieces))) for build in builds)


def _children(build: SquadBuild) -> str:
    low, high = (long(cm) for cm in build.heights_cm)
    if not build.children:
        return ""
    numbers: dict[str, list[str]] = {}
    for child in build.children:
        squad, _, number = child.rpartition(" ")
        numbers.setdefault(squad, []).append(number)
    named = "; ".join(f"{squad} {', '.join(those)}" for squad, those in numbers.items())
    return clean(f"{named} ({low if low == high else f'{low} to {high}'})")


def _size(piece: SizedPiece) -> SheetSize:
    text = wanted(piece)
    if piece.range_cm:
        text += f" ({long(piece.range_cm[0])} to {long(piece.range_cm[1])} for most of her age)"
    if piece.build and not piece.along:
        return SheetSize(piece.piece, text, f"{built(piece.build)} = {long(piece.reached_cm or 0)}{off(piece)}")
    if piece.fits:
        return SheetSize(piece.piece, text)
    near = "; ".join(
        f"{built(one)} = {long(one.reached_cm)}, {'below' if one.off_cm < 0 else 'above'} what she needs"
        for one in piece.nearest
    )
    borrow = f"borrow a {piece.borrow}" if piece.borrow else ""
    return SheetSize(piece.piece, text, "; ".join(part for part in ("no fit from this kit", near, borrow) if part))


def _sized_items(card: Card, builds: Iterable[SquadBuild]) -> set[str]:
    """Return the kit of the card that every build stands for."""
    built_pieces = [{piece.piece for piece in build.sizes.pieces if piece.build} for build in builds]
    if not built_pieces:
        return set()
    whole = set.intersection(*built_pieces)
    return {name for use in card.size if use.piece in whole for name in (*use.of, *use.above)}


def _taken(sizes: Sizes, equipment: Mapping[str, Equipment]) -> dict[str, int]:
    """Return how many of each piece one build takes: apparatus that stands already is set once, mats add up."""
    found: dict[str, int] = {}
    for piece in sizes.pieces:
        for item in piece.build:
            before = found.get(item.item, 0)
            once = equipment[item.item].kind not in ("mat", "block")
            found[item.item] = max(before, item.count) if once else before + item.count
    return found

"""A card's figure with its kit at the sizes of one child."""

import re
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from kb.model import BuildItem, Card, Equipment, Figure, SizedPiece, Sizes, SizeUse, Vocabulary
from kb.model.figure import FLOOR, Stand
from kb.size.child import Child
from kb.size.station import wanted


def figure_to_size(card: Card, sizes: Sizes, words: Vocabulary) -> Figure | None:
    """Return the figure with every sized piece at its new height.

    None when the card has no figure, when a piece cannot be built, or when the figure has no place for what is built.

    What is built stands as it is built, with its name and height under it. What is marked or held moves up or down by
    as much as its size differs from that of the child in the picture. Distances along the floor stay as drawn.
    """
    figure = card.figure
    if figure is None:
        return None
    kit = list(figure.kit)
    drawn = Child(figure.child, level=sizes.level)
    uses = [use for use in card.size if use.rule in words.sizes]
    for use, piece in zip(uses, sizes.pieces, strict=True):
        if not piece.fits:
            return None
        if piece.along or not use.of:
            continue
        before = wanted(use, drawn, sizes.level or card.levels[0], words.sizes[use.rule]).cm
        change = _Change(use, piece, piece.target_cm - before, words.equipment)
        changed = change.made(kit)
        if changed is None:
            return None
        kit = changed
    return replace(figure, kit=tuple(kit))


class _Change:
    """What one sized piece does to the kit of a figure."""

    def __init__(self, use: SizeUse, piece: SizedPiece, shift: float, equipment: Mapping[str, Equipment]) -> None:
        self.use, self.piece, self.shift, self.equipment = use, piece, shift, equipment
        self.main = next((item for item in piece.build if equipment[item.item].height_cm and not item.above), None)
        self.stack = [item for item in piece.build if not item.above and item is not self.main]
        self.above = [item for item in piece.build if item.above]

    def made(self, kit: list[Stand]) -> list[Stand] | None:
        """Return the kit with the piece at its size; None when the figure has no place for it."""
        if self.main is not None:
            piled = self.raised(kit, self.use.above, self.above)
            if piled is None:
                return None
            kit = piled
            return [self.set(stand) if self.is_main(stand) else stand for stand in kit]
        if any(self.equipment[item.item].kind in ("mat", "block") for item in self.stack):
            return self.raised(kit, self.use.of, self.stack)
        return [self.moved(stand) if stand.item in self.use.of else stand for stand in kit]

    def is_main(self, stand: Stand) -> bool:
        """Say whether this is the rail or beam."""
        return stand.item in self.use.of and self.equipment[stand.item].kind == "apparatus"

    def set(self, stand: Stand) -> Stand:
        """Return the rail or beam at the height it is set to."""
        item = self.main
        if item is None:
            return stand
        label = stand.label if stand.label == "" else f"{item.name}, {item.cm:.0f} cm"
        return replace(stand, height=item.cm, label=label)

    def moved(self, stand: Stand) -> Stand:
        """Return a mark or something held, higher or lower."""
        if stand.bottom is not None:
            return replace(stand, bottom=max(0.0, stand.bottom + self.shift))
        if stand.height is not None:
            return replace(stand, height=max(1.0, stand.height + self.shift))
        return stand

    def raised(self, kit: list[Stand], names: Sequence[str], build: Sequence[BuildItem]) -> list[Stand] | None:
        """Return the kit with every pile of these pieces as high as it is built; its lowest piece takes the rest."""
        wants = sum(item.cm for item in build)
        if not wants:
            return kit
        keys = {stand.key or stand.item: place for place, stand in enumerate(kit) if stand.item in names}
        new = list(kit)
        for key, place in keys.items():
            stand = kit[place]
            if stand.on in keys or stand.bottom is not None or stand.upright:
                continue
            if stand.on != FLOOR:  # on something that is not sized
                continue
            over = self.over(kit, key, keys)
            high = wants - sum(self.thick(kit[place]) for place in over)
            if high < 1:
                return None
            label = stand.label if stand.label == "" else _label(build, with_top=not over)
            new[place] = replace(stand, height=high, count=1, label=label)
        return new

    def over(self, kit: list[Stand], key: str, keys: Mapping[str, int]) -> list[int]:
        """Return the sized pieces that lie on a piece, one on the other."""
        found: list[int] = []
        for name, place in keys.items():
            if kit[place].on == key:
                found += [place, *self.over(kit, name, keys)]
                break
        return found

    def thick(self, stand: Stand) -> float:
        """Return how high a piece of the pile is."""
        item = self.equipment[stand.item]
        high = item.folded_cm[2] if stand.folded and item.folded_cm else item.cm[2]
        return high * stand.count


def _label(build: Sequence[BuildItem], *, with_top: bool) -> str:
    shown = build if with_top else build[:-1] or build
    if len(shown) == 1:
        name = re.sub(r",? \d+ cm$", "", shown[0].name)  # its height stands behind it
        label = f"{shown[0].count} × {name.lower()}" if shown[0].count > 1 else name
    else:
        label = " + ".join(f"{item.count} × {item.name.lower()}" if item.count > 1 else item.name for item in shown)
    label += f", {sum(item.cm for item in shown):.0f} cm"
    return (
        label if len(label) <= 40 else f"{sum(item.count for item in shown)} pieces, {sum(i.cm for i in shown):.0f} cm"
    )

"""The pieces that are there to build with, and how many of them are left."""

from collections.abc import Iterable, Mapping

from kb.model import BuildItem, Built, Card, Equipment
from kb.size.pieces import Layer, Owned, layers, owned

KitLine = tuple[str, int, tuple[float, ...] | None]
"""Item, count, the club's own size in cm where it differs."""
AS_NEEDED = 8
"""Pieces of each kind when no kit list was given."""


class Stock:
    """Lines of a kit list, counted down as pieces are built."""

    def __init__(self, lines: list[Owned], equipment: Mapping[str, Equipment]) -> None:
        self.lines, self.equipment = lines, equipment
        self.left = [line.many for line in lines]
        self.layers = [layers(place, line) for place, line in enumerate(lines)]
        self.set: dict[str, BuildItem] = {}
        """Rails and beams that stand already; another piece of the card is built to the same one."""

    @classmethod
    def of_card(cls, card: Card, equipment: Mapping[str, Equipment]) -> "Stock":
        """Return the card's own kit, as many of each as are needed."""
        names = dict.fromkeys(piece.item for piece in card.equipment)
        return cls(owned(equipment, ((name, AS_NEEDED, None) for name in names)), equipment)

    @classmethod
    def of_kit(cls, kit: Iterable[KitLine], card: Card, equipment: Mapping[str, Equipment]) -> "Stock":
        """Return what a gym owns, less what the card needs beside the pieces that are sized."""
        stock = cls(owned(equipment, kit), equipment)
        sized = {name for use in card.size for name in (*use.of, *use.above)}
        for piece in card.equipment:
            if piece.item not in sized:
                stock.use(piece.item, piece.count)
        return stock

    def has(self, name: str) -> bool:
        """Say whether a piece of this kind is in the list at all."""
        return any(line.item.id == name for line in self.lines)

    def stand_in(self, item: Equipment) -> Equipment | None:
        """Return the first piece of the vocabulary's stand-ins that is there."""
        return next((self.equipment[name] for name in item.instead if self.has(name)), None)

    def forms(self, name: str) -> list[Layer]:
        """Return the layers that pieces of this kind can be, as far as some are left."""
        return [
            layer
            for place, line in enumerate(self.lines)
            if line.item.id == name and self.left[place] > 0
            for layer in self.layers[place]
        ]

    def use(self, name: str, count: int) -> None:
        """Take pieces of a kind away, as many as there are."""
        for place, line in enumerate(self.lines):
            if line.item.id == name and count > 0:
                taken = min(count, self.left[place])
                self.left[place] -= taken
                count -= taken

    def take(self, built: Built) -> None:
        """Take away what has been built."""
        for item in built.items:
            if self.equipment[item.item].kind == "apparatus":
                self.set[item.item] = item
            else:
                self.use(item.item, item.count)

    def more(self, item: Equipment) -> "Stock":
        """Return the stock with one more piece of a kind."""
        other = Stock([*self.lines, Owned(item, 1, (item.cm[0], item.cm[1], item.cm[2]))], self.equipment)
        other.left[: len(self.left)] = self.left
        other.set = self.set
        return other

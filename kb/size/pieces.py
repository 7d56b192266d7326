"""What a gym owns, as layers that can be stacked: every piece in every form that it can lie in."""

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from kb.model import Equipment

LANDS = ("none", "feet", "roll", "back")
"""What may land on a piece, from nothing to the most."""
COVERS = 0.8
"""Part of the length and width of a mat that the layer under it must fill (common practice, no source)."""
SLENDER = 1.5
"""How many times its short side pieces of one kind may be stacked high (common practice, no source)."""


class Owned(NamedTuple):
    """Pieces of one kind and size."""

    item: Equipment
    many: int
    cm: tuple[float, float, float]
    """Length, width and height as used."""
    adjustable: bool = True
    """Its height can be set (the club has not said otherwise)."""


class Layer(NamedTuple):
    """A layer of a stack: one piece, or several side by side, in one form."""

    source: int
    """Which line of the kit it comes from."""
    item: Equipment
    form: str
    high: float
    """cm."""
    long: float
    wide: float
    """Its longer and shorter side on the floor, in cm, all pieces of the layer together."""
    pieces: int = 1

    def under(self, long: float, wide: float) -> "Layer | None":
        """Return the layer with as many pieces as fill the space under something of this size; None if too many."""
        best = None
        for side_a, side_b in ((self.long, self.wide), (self.wide, self.long)):
            rows, lines = math.ceil(COVERS * long / side_a - 1e-9), math.ceil(COVERS * wide / side_b - 1e-9)
            rows, lines = max(rows, 1), max(lines, 1)
            sides = sorted((rows * side_a, lines * side_b), reverse=True)
            if rows * lines <= 6 and (best is None or rows * lines < best.pieces):
                best = self._replace(pieces=rows * lines, long=sides[0], wide=sides[1])
        return best


def owned(
    equipment: Mapping[str, Equipment], lines: Iterable[tuple[str, int, tuple[float, ...] | None]]
) -> list[Owned]:
    """Return the pieces of a kit list: item, count and the club's own size in cm where it gave one."""
    found = []
    for name, count, own in lines:
        item = equipment[name]
        size = own or item.cm
        found.append(Owned(item, count, (size[0], size[1], size[2]), own is None))
    return found


def layers(source: int, piece: Owned) -> list[Layer]:
    """Return the forms in which a piece can be a layer: flat, folded, by sections."""
    item, (long, wide, high) = piece.item, piece.cm
    sides = (max(long, wide), min(long, wide))
    if item.sections_cm:
        tops = [sum(item.sections_cm[: n + 1]) for n in range(len(item.sections_cm))]
        names = [f"top {n + 1} sections" if n else "top section" for n in range(len(tops))]
        return [Layer(source, item, name, top, *sides) for name, top in zip(names, tops, strict=True)]
    flat = Layer(source, item, "", high, *sides)
    if not item.folded_cm:
        return [flat]
    a, b, folded = item.folded_cm[:3]
    forms = [
        flat._replace(form="open"),
        Layer(source, item, "folded", folded, max(a, b), min(a, b)),
    ]
    if math.isclose(folded, 4 * high):
        half = sorted((long / 2, wide), reverse=True)
        forms.insert(1, Layer(source, item, "folded once", 2 * high, half[0], half[1]))
    return forms


def firm(layer: Layer) -> bool:
    """Say whether feet and hands may push from the layer."""
    return layer.item.firm


def lands_at_least(item: Equipment, wanted: Equipment) -> bool:
    """Say whether everything that may land on `wanted` may land on `item`."""
    return LANDS.index(item.lands) >= LANDS.index(wanted.lands)


def settings(piece: Owned) -> list[float]:
    """Return the heights in cm to which a rail, beam or table can be set, in steps of 5 from its lowest."""
    if not piece.adjustable or piece.item.height_cm is None:
        return [piece.cm[2]]
    low, high = piece.item.height_cm
    steps = int((high - low) // 5)
    return [low + 5 * n for n in range(steps + 1)] + ([high] if low + 5 * steps < high else [])

"""Pieces of kit at their true size: the outline that is drawn, and the surfaces that can be touched."""

import math
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from kb.model import Equipment
from kb.model.figure import FLOOR, Stand

Point = tuple[float, float]
LONGEST_SHOWN = 260.0
"""Centimetres of a long piece that are drawn when the scene does not say."""
RAIL = 2.0
"""Half the thickness of a rail, FIG: diameter 4 cm."""

SHAPES: dict[str, str] = {
    **dict.fromkeys(("wedge", "wedge-small", "wedge-soft"), "wedge"),
    **dict.fromkeys(("springboard",), "board"),
    **dict.fromkeys(("mini-tramp", "trampoline", "tumble-track"), "bed"),
    **dict.fromkeys(("low-bar", "high-bar", "single-rail", "floor-bar", "chin-bar"), "rail"),
    **dict.fromkeys(("low-beam", "mid-beam", "high-beam", "vault-table", "bench"), "legs"),
    **dict.fromkeys(("barrel", "barrel-small", "soft-ball", "medicine-ball"), "round"),
    **dict.fromkeys(("trapezoid",), "trapezoid"),
    **dict.fromkeys(("wall", "mirror", "wall-bars"), "wall"),
    **dict.fromkeys(("cone",), "cone"),
    **dict.fromkeys(("half-round",), "half"),
    **dict.fromkeys(("floor-line", "chalk", "beanbag", "hoop", "elastic-line"), "mark"),
}
"""What a kind of kit looks like from the side; all others are boxes."""


class Piece(NamedTuple):
    """A piece of kit in its place."""

    key: str
    item: str
    shape: str
    left: float
    right: float
    bottom: float
    top: float
    label: str
    falls: str = "right"
    behind: bool = False
    layers: int = 1
    held: bool = False
    """Held or hung at its height; a body may overlap it."""

    @property
    def middle(self) -> float:
        """The middle of the piece along the floor."""
        return (self.left + self.right) / 2

    def surface(self, x: float) -> float:
        """Return the height of its upper side at `x`; its nearest edge for a place beside it."""
        x = min(max(x, self.left), self.right)
        part = (x - self.left) / (self.right - self.left) if self.right > self.left else 0.5
        high = 1 - part if self.falls == "right" else part
        rise = self.top - self.bottom
        if self.shape == "wedge":
            return self.bottom + 4 + (rise - 4) * min(1.0, high * 1.06)
        if self.shape == "board":
            return self.bottom + 4 + (rise - 4) * math.pow(min(1.0, high * 1.2), 0.8)
        if self.shape in ("round", "half"):
            across = 2 * part - 1
            lift = math.sqrt(max(0.0, 1 - across * across))
            return self.bottom + rise * (0.5 + 0.5 * lift if self.shape == "round" else lift)
        return self.top

    def holds(self, x: float, y: float) -> bool:
        """Say whether a point is inside the solid piece."""
        if self.shape == "trapezoid":
            slack = 0.12 * (y - self.bottom)
            return self.left + slack < x < self.right - slack and self.bottom < y < self.top
        if self.shape == "legs":  # there is air under a table and a beam
            return self.left < x < self.right and self.top - 16 < y < self.top
        return self.left < x < self.right and self.bottom < y < self.surface(x)

    @property
    def solid(self) -> bool:
        """Whether a body cannot be where it is."""
        return self.shape not in ("rail", "mark") and not self.behind and not self.held

    def outline(self) -> list[Point]:
        """Return the corners of its side, in order."""
        left, right, low, high = self.left, self.right, self.bottom, self.top
        if self.shape in ("wedge", "board", "half", "round"):
            steps = [left + (right - left) * n / 24 for n in range(25)]
            upper = [(x, self.surface(x)) for x in steps]
            if self.shape == "round":
                return upper + [(x, low + high - y) for x, y in reversed(upper)]
            return [(left, low), *upper, (right, low)]
        if self.shape == "trapezoid":
            slope = 0.12 * (high - low)
            return [(left, low), (left + slope, high), (right - slope, high), (right, low)]
        if self.shape == "cone":
            return [(left, low), ((left + right) / 2, high), (right, low)]
        return [(left, low), (left, high), (right, high), (right, low)]


def place_kit(stands: Sequence[Stand], equipment: Mapping[str, Equipment], *, front: bool) -> dict[str, Piece]:
    """Return the pieces by the names that moments use, in drawing order. Raises KeyError for one that is not there."""
    placed: dict[str, Piece] = {}
    for stand in stands:
        item = equipment[stand.item]
        key = stand.key or stand.item
        placed[key] = _placed(stand, item, key, placed, front)
    return placed


def _placed(stand: Stand, item: Equipment, key: str, placed: Mapping[str, Piece], front: bool) -> Piece:
    length, width, high = item.folded_cm if stand.folded and item.folded_cm else item.cm
    shape = SHAPES.get(item.id, "box")
    if stand.upright and shape == "box":
        length, high = high, length if length <= 200 else width
    along = width if stand.end != (front and shape not in ("wall",)) else length
    if shape == "rail":
        along = length if front else 2 * RAIL
    if shape == "wall":
        along = width if not front else length
    if shape == "round":
        along = high
    shown = stand.long or min(along, LONGEST_SHOWN)
    base = stand.bottom or 0.0 if stand.on == FLOOR else placed[stand.on].surface(stand.at + shown / 2)
    top = stand.height if stand.height is not None else base + high * stand.count
    if shape == "rail" and stand.height is None:
        top = high  # the height of a rail is that of its top edge above the floor
    centred = shape == "rail" or stand.end
    left = stand.at - shown / 2 if centred else stand.at
    label = _label(stand, item, top - base, shape) if stand.label is None else stand.label
    return Piece(
        key,
        item.id,
        shape,
        left,
        left + shown,
        base,
        max(top, base),
        label,
        stand.falls,
        stand.behind,
        stand.count,
        stand.bottom is not None,
    )


def _label(stand: Stand, item: Equipment, high: float, shape: str) -> str:
    many = f"{stand.count} × " if stand.count > 1 else ""
    name = re.sub(r",? \d+ cm$", "", item.name)  # the height stands behind it anyway
    if shape in ("wall", "mark"):
        return f"{many}{name}"
    return f"{many}{name}, {high:.0f} cm"

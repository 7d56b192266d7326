"""The stack nearest to a height, from the layers that a gym owns.

Every stack is a set of layers, the widest at the bottom, at most LAYERS of them and at most PIECES pieces. For every
height that can be reached the one with the fewest pieces is kept, so that choosing is a look at a table.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from kb.model.size import Limit
from kb.size.pieces import SLENDER, Layer

LAYERS, PIECES = 6, 10
"""Most layers and pieces of one stack (common practice, no source)."""


class Stack(NamedTuple):
    """Layers from the floor up."""

    layers: tuple[Layer, ...]

    @property
    def high(self) -> float:
        """Height in cm."""
        return sum(layer.high for layer in self.layers)

    @property
    def pieces(self) -> int:
        """Pieces in all."""
        return sum(layer.pieces for layer in self.layers)


def stacks(choices: Sequence[Layer], counts: Sequence[int], highest: float) -> dict[float, Stack]:
    """Return for every height in cm that the layers can reach the stack with the fewest pieces; 0 for none at all.

    Args:
        choices: the layers, by line of the kit (`source`).
        counts: pieces there are on each line of the kit.
        highest: height in cm above which nothing is wanted.
    """
    table: dict[tuple[float, int], tuple[int, tuple[Layer, ...]]] = {(0.0, 0): (0, ())}
    for source, group in groupby(sorted(choices, key=lambda layer: layer.source), key=lambda layer: layer.source):
        ways = [_sum(way) for way in _ways(list(group), counts[source]) if way]
        grown = dict(table)
        for (high, many), (pieces, found) in table.items():
            for more_high, more_many, more_pieces, way in ways:
                key, count = (round(high + more_high, 1), many + more_many), pieces + more_pieces
                if key[0] > highest or key[1] > LAYERS or count > PIECES:
                    continue
                if key not in grown or count < grown[key][0]:
                    grown[key] = (count, found + way)
        table = grown
    best: dict[float, Stack] = {}
    for (high, _), (pieces, found) in sorted(table.items()):
        if high not in best or pieces < best[high].pieces:
            best[high] = _sorted(found)
    return best


def _sum(way: tuple[Layer, ...]) -> tuple[float, int, int, tuple[Layer, ...]]:
    return sum(layer.high for layer in way), len(way), sum(layer.pieces for layer in way), way


def _ways(forms: list[Layer], count: int) -> Iterator[tuple[Layer, ...]]:
    """Yield every set of layers that one line of the kit can give, the empty one first."""
    queue: list[tuple[int, tuple[Layer, ...]]] = [(0, ())]
    for first, way in queue:  # it grows while it is read
        yield way
        for place in range(first, len(forms)):
            new = (*way, forms[place])
            if sum(layer.pieces for layer in new) <= count and len(new) <= LAYERS and not _slender(new):
                queue.append((place, new))


def _slender(way: tuple[Layer, ...]) -> bool:
    """Say whether pieces of one kind are stacked higher than they stand safely."""
    return len(way) > 1 and sum(layer.high for layer in way) > SLENDER * min(layer.wide for layer in way)


def _sorted(found: Iterable[Layer]) -> Stack:
    """Return the layers with the widest at the bottom."""
    return Stack(tuple(sorted(found, key=lambda layer: (-layer.wide, -layer.long, layer.source, -layer.high))))


def allowed(limit: Limit) -> Callable[[float, float], bool]:
    """Return whether a height may be reached for a target, by the limit of the rule."""
    if limit == "at-most":
        return lambda high, target: high <= target + 1e-6
    if limit == "at-least":
        return lambda high, target: high >= target - 1e-6
    return lambda high, target: True  # noqa: ARG005 - one signature for the three

"""A station for many children, rebuilt as few times as possible.

Every rule grows with height, so children who share a build are neighbours when lined up by height. Taking as many as
fit, from the smallest on, gives the fewest builds.
"""

from collections.abc import Iterable, Sequence

from kb.model import Card, Sizes, SquadBuild, SquadSizes, Vocabulary
from kb.size.child import Child
from kb.size.station import station_sizes
from kb.size.stock import KitLine


def squad_sizes(
    card: Card, squad: Sequence[tuple[str, Child]], words: Vocabulary, kit: Iterable[KitLine] | None = None
) -> SquadSizes:
    """Return the builds of a station for a squad, each with its children, smallest first.

    Args:
        card: the card.
        squad: the name of each child (group and number) and what is known of her.
        words: the vocabulary, with the rules.
        kit: as in station_sizes.

    Raises UsageError as station_sizes does.
    """
    lines = list(kit) if kit is not None else None
    line_up = sorted(squad, key=lambda one: (one[1].height, one[0]))
    builds: list[SquadBuild] = []
    alone: list[str] = []
    start = 0
    while start < len(line_up):
        best: Sizes | None = None
        end = start
        while end < len(line_up):
            sizes = _one_build(card, [child for _, child in line_up[start : end + 1]], words, lines)
            if sizes is None:
                break
            best, end = sizes, end + 1
        if best is None:
            alone.append(line_up[start][0])
            start += 1
            continue
        builds.append(_build(line_up[start:end], best))
        start = end
    return SquadSizes(card.id, tuple(builds), tuple(alone))


def _one_build(card: Card, children: list[Child], words: Vocabulary, kit: list[KitLine] | None) -> Sizes | None:
    sizes = station_sizes(card, children, words, kit, advise=False)
    return sizes if sizes is not None and sizes.fits else None


def _build(children: Sequence[tuple[str, Child]], sizes: Sizes) -> SquadBuild:
    heights = [child.height for _, child in children]
    return SquadBuild(tuple(name for name, _ in children), (min(heights), max(heights)), sizes)

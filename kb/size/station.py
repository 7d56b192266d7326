"""All the pieces of a station, to one child's size."""

import math
from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from kb.errors import UsageError
from kb.model import BuildItem, Built, Card, Equipment, SizedPiece, SizeRule, Sizes, SizeUse, Vocabulary
from kb.size.build import ANY_LOWER, Maker, Wanted
from kb.size.child import Child, length
from kb.size.pieces import lands_at_least
from kb.size.stock import KitLine, Stock

HIGH_UP = 200
"""cm; a piece that is this high and cannot be set (wall bars, a rope) is held at the height that is wanted."""


def station_sizes(
    card: Card,
    children: Sequence[Child],
    words: Vocabulary,
    kit: Iterable[KitLine] | None = None,
    *,
    advise: bool = True,
) -> Sizes | None:
    """Return the size of every piece of the card's station that must fit, and how to build it.

    Args:
        card: the card.
        children: the child, or several of one level for whom one station shall serve.
        words: the vocabulary, with the rules.
        kit: what the gym owns (item, count, own size in cm or None); without it the card's own kit, as many as needed.
        advise: when nothing fits, look for what to borrow.

    Returns None when no one size is within the tolerance of all the children. Raises UsageError for a kit list without
    a mat to land on, or without one that may catch what this card does.
    """
    child = children[0]
    level = level_of(child, card)
    uses = [use for use in card.size if use.rule in words.sizes]
    wants = [
        _shared([wanted(use, one, level_of(one, card), words.sizes[use.rule]) for one in children]) for use in uses
    ]
    stock = Stock.of_card(card, words.equipment) if kit is None else Stock.of_kit(kit, card, words.equipment)
    if kit is not None:
        _must_land(card, stock, words.equipment)
    pieces = []
    for use, want in zip(uses, wants, strict=True):
        if want is None:
            return None
        rule = words.sizes[use.rule]
        blank = _blank(use, want, rule, measured=use.rule in child.measured, span=_range(use, child, level, rule))
        of = [words.equipment[name] for name in use.of]
        if blank.along:
            pieces.append(_with(blank, _laid(of, want, stock)))
        elif is_mark(of):
            above = [words.equipment[name] for name in use.above]
            pieces.append(_with(blank, _marked(of, above, want)))
        else:
            pieces.append(_made(blank, want, Maker(card, use, words.equipment, stock), advise=advise))
    height = sum(one.height for one in children) / len(children)
    return Sizes(card.id, round(height, 1), tuple(pieces), child.age, level, child.expected)


def level_of(child: Child, card: Card) -> int:
    """Return the child's level, or the lowest that the card is for when hers is not known."""
    return child.level or card.levels[0]


def wanted(use: SizeUse, child: Child, level: int, rule: SizeRule) -> Wanted:
    """Return the height or distance that a piece should have, and how far off it may be."""
    limit = use.limit or rule.limit
    tolerance = ANY_LOWER if rule.caps and limit == "at-most" else rule.tolerance_cm
    return Wanted(round(length(rule, child, level, use.offset_cm), 1), tolerance, limit)


def _shared(wants: Sequence[Wanted]) -> Wanted | None:
    """Return what serves every child: the middle of the range that all of them allow, or the limit that holds for all.

    None when there is no such range.
    """
    if len(wants) == 1:
        return wants[0]
    low = max(want.cm - (0 if want.limit == "at-least" else want.tolerance) for want in wants)
    high = min(want.cm + (0 if want.limit == "at-most" else want.tolerance) for want in wants)
    if low > high:
        return None
    limit = wants[0].limit
    middle = {"at-most": high, "at-least": low}.get(limit, round((low + high) / 2, 1))
    return Wanted(round(middle, 1), round(high - low if limit else (high - low) / 2, 1), limit)


def _blank(
    use: SizeUse, want: Wanted, rule: SizeRule, *, measured: bool, span: tuple[float, float] | None
) -> SizedPiece:
    return SizedPiece(
        piece=use.piece,
        rule=use.rule,
        target_cm=want.cm,
        tolerance_cm=0.0 if want.tolerance == ANY_LOWER else want.tolerance,
        source=rule.source,
        measure=rule.measure,
        limit=want.limit,
        offset_cm=use.offset_cm,
        along=rule.along,
        measured=measured,
        range_cm=span,
    )


def _made(sized: SizedPiece, want: Wanted, maker: Maker, *, advise: bool) -> SizedPiece:
    """Return a piece with what it is built of, taken from the stock; or the nearest that can be built."""
    built = maker.best(want)
    if built is not None and built.reached_cm > 0 and abs(built.off_cm) <= want.tolerance + 1e-6:
        maker.stock.take(built)
        return _with(sized, built)
    return replace(sized, fits=False, nearest=maker.nearest(want), borrow=maker.borrow(want) if advise else "")


def is_mark(of: Sequence[Equipment]) -> bool:
    """Say whether nothing is built: a mark, something held, a place on a wall."""
    return all(item.kind in ("target", "hand", "hall") or _held_up(item) for item in of)


def _held_up(item: Equipment) -> bool:
    return item.kind == "apparatus" and item.height_cm is None and item.cm[2] >= HIGH_UP


def _laid(of: Sequence[Equipment], want: Wanted, stock: Stock) -> Built:
    """Return what is put down at a distance; a mat that must reach so far as often as it takes."""
    items = []
    for item in of:
        mats = item.kind == "mat" and want.limit == "at-least"
        count = max(1, math.ceil(want.cm / max(item.cm[:2]) - 1e-9)) if mats else 1
        name = item if stock.has(item.id) else stock.stand_in(item) or item
        items.append(BuildItem(name.id, count, name.name, "", 0.0))
    return Built(tuple(items), want.cm, 0.0)


def _marked(of: Sequence[Equipment], above: Sequence[Equipment], want: Wanted) -> Built:
    """Return what is marked or held, measured from the floor with the mats under her counted in."""
    base = 0.0 if any(item.height_cm for item in above) else sum(item.cm[2] for item in above)
    whence = "above it" if any(item.height_cm for item in above) else "from the floor"
    high = want.cm + base
    items = [BuildItem(item.id, 1, item.name, _place(item, high, whence, want), high) for item in of]
    items += [BuildItem(item.id, 1, item.name, "", 0.0 if not base else item.cm[2], above=True) for item in above]
    return Built(tuple(items), want.cm, 0.0)


def _place(item: Equipment, high: float, whence: str, want: Wanted) -> str:
    if not _held_up(item):
        return f"at {high:.0f} cm {whence}"
    more = ", or the next one up" if want.limit == "at-least" else ""
    return f"at the rung {high:.0f} cm {whence}{more}"


def _with(sized: SizedPiece, built: Built) -> SizedPiece:
    return replace(sized, build=built.items, reached_cm=built.reached_cm, off_cm=built.off_cm)


def _range(use: SizeUse, child: Child, level: int, rule: SizeRule) -> tuple[float, float] | None:
    if child.expected is None or use.rule in child.measured:
        return None
    low, high = (
        round(length(rule, child._replace(height=height), level, use.offset_cm), 1)
        for height in (child.expected[0], child.expected[2])
    )
    return low, high


def _must_land(card: Card, stock: Stock, equipment: Mapping[str, Equipment]) -> None:
    """Raise UsageError when the kit has no mat to land on, or none for what this card does."""
    if not any(line.item.kind == "mat" and line.item.lands in ("feet", "back") for line in stock.lines):
        raise UsageError(
            "This kit list has no mat to land on (a landing mat or a soft mat); no station is sized without one. "
            "Add the mats that you own to the list."
        )
    for piece in card.equipment:
        mat = equipment[piece.item]
        if mat.kind != "mat" or mat.lands not in ("feet", "back"):
            continue
        names = (piece.item, *piece.instead, *mat.instead)
        if not any(stock.has(name) and lands_at_least(equipment[name], mat) for name in names):
            raise UsageError(
                f"{card.id} needs {mat.name.lower()} to land on, and nothing in this kit list may stand in for it; "
                "borrow one, or choose another drill."
            )

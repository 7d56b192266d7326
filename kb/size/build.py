"""One piece of a station, built: a stack under her or beside her, or a rail or beam over mats.

Rules that are never traded for a better fit: every piece that the card names is there, or what may stand in for it on
that card; what catches her stays as soft and as thick; nothing soft under feet or hands that push; the wide under the
narrow, the firm under the soft; nothing on a sectioned block, no block on a block, under a block at most one open panel
mat unless the card says more; mats under a rail lie open and as long as the card has them; a limit is a limit.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain, product
from typing import NamedTuple

from kb.model import BuildItem, Built, Card, Equipment, SizeUse
from kb.model.size import Limit
from kb.size.pieces import Layer, lands_at_least, settings
from kb.size.stack import Stack, allowed, stacks
from kb.size.stock import Stock

ANY_LOWER = 999.0
"""Tolerance in cm of a cap: anything below it is safe."""
HIGHEST = 160.0
"""cm above which no stack of mats is built."""
UNDER_A_BLOCK = "panel-mat"
"""What may lie open under a block that she pushes from."""


class Wanted(NamedTuple):
    """A height or distance in cm, how far off it may be, and on which side."""

    cm: float
    tolerance: float
    limit: Limit

    @property
    def is_cap(self) -> bool:
        """Whether anything below it is as good."""
        return self.tolerance == ANY_LOWER


class Option(NamedTuple):
    """A way to build: what stands, and what lies under her."""

    main: BuildItem | None
    """The rail or beam, set."""
    top: tuple[BuildItem, ...]
    """What is put on the rail or beam (a pad)."""
    stack: tuple[Layer, ...]
    above: tuple[Layer, ...]
    reached: float
    rank: int = 0
    """How far down the lists of stand-ins it goes."""

    @property
    def pieces(self) -> int:
        """Pieces that are carried."""
        return sum(layer.pieces for layer in (*self.stack, *self.above)) + (self.main is not None)


class Maker:
    """Everything that a piece of a card can be built to, from the stock."""

    def __init__(self, card: Card, use: SizeUse, equipment: Mapping[str, Equipment], stock: Stock) -> None:
        self.card, self.use, self.equipment, self.stock = card, use, equipment, stock
        self.of = [equipment[name] for name in use.of]
        self.under = [equipment[name] for name in use.above]
        self.main = next((item for item in self.of if item.kind == "apparatus"), None)

    def best(self, want: Wanted) -> Built | None:
        """Return the best way within the limit: from the card's own kit if that comes near enough, else from all."""
        own = _best(self.own, want)
        if own is None or abs(own.reached - want.cm) > want.tolerance:
            own = _best(chain(self.own, self.any), want)
        return self.built(own, want) if own else None

    def nearest(self, want: Wanted) -> tuple[Built, ...]:
        """Return the nearest below and the nearest above that the limit allows."""
        ways = [*self.own, *self.any]
        below = _best((option for option in ways if option.reached < want.cm), want)
        above = _best((option for option in ways if option.reached >= want.cm), want)
        return tuple(self.built(option, want) for option in (below, above) if option)

    def borrow(self, want: Wanted) -> str:
        """Return the name of the one piece with which the station could be built; empty when none does it."""
        best: tuple[tuple[float, int, float], str] | None = None
        for item in self._could_help():
            found = _best(Maker(self.card, self.use, self.equipment, self.stock.more(item)).any, want)
            if found and abs(found.reached - want.cm) <= want.tolerance:
                price = cost(found.reached, found.pieces, want)
                best = min(best, (price, item.name.lower())) if best else (price, item.name.lower())
        return best[1] if best else ""

    def _could_help(self) -> Iterator[Equipment]:
        named = dict.fromkeys(name for item in (*self.of, *self.under) for name in self._names(item))
        yield from (self.equipment[name] for name in named if not self.stock.has(name))
        yield from (item for item in self.equipment.values() if item.stackable and item.firm and item.kind == "mat")

    @cached_property
    def own(self) -> list[Option]:
        """Ways from the card's own kit and its stand-ins."""
        names = dict.fromkeys(name for item in (*self.of, *self.under) for name in self._names(item))
        return list(self._options([self.equipment[name] for name in names]))

    @cached_property
    def any(self) -> list[Option]:
        """Ways from every firm mat that stacks."""
        return list(self._options(list(self.equipment.values())))

    def _names(self, item: Equipment) -> tuple[str, ...]:
        """Return a piece and what may stand in: as the card says, as the vocabulary does when the card is silent."""
        own = next((piece.instead for piece in self.card.equipment if piece.item == item.id), ())
        return tuple(dict.fromkeys((item.id, *(own or item.instead))))

    def _options(self, base: Sequence[Equipment]) -> Iterator[Option]:
        if self.main is None:
            fixed = self._fixed_above()
            if fixed is None:
                return
            down = sum(layer.high for layer in fixed)
            for pile, rank in self._piles(self.of, base, fixed):
                yield Option(None, (), pile.layers, fixed, pile.high - down, rank)
            return
        top = tuple(BuildItem(item.id, 1, item.name, "on top", item.cm[2]) for item in self.of if item is not self.main)
        raised = sum(item.cm for item in top)
        piles = list(self._piles(self.under, base, ())) if self.under else [(Stack(()), 0)]
        for (main, rank), (pile, more) in product(self._set(self.main), piles):
            yield Option(main, top, (), pile.layers, main.cm + raised - pile.high, rank + more)

    def _set(self, item: Equipment) -> Iterator[tuple[BuildItem, int]]:
        """Yield the rail or beam, or what stands in for it, at every height that it can have."""
        for rank, name in enumerate(self._names(item)):
            if name in self.stock.set:
                yield self.stock.set[name], rank
                return
            for place, line in enumerate(self.stock.lines):
                if line.item.id == name and self.stock.left[place] > 0 and line.item.kind == "apparatus":
                    heights = settings(line)
                    form = "set at {:g} cm" if len(heights) > 1 else "at its {:g} cm"
                    for high in heights:
                        yield BuildItem(name, 1, line.item.name, form.format(high), high), rank

    def _fixed_above(self) -> tuple[Layer, ...] | None:
        """Return the mats from whose top the height is measured, as the card has them; None when they are missing."""
        found: tuple[Layer, ...] = ()
        for item in self.under:
            forms = next((forms for name in self._names(item) if (forms := self.stock.forms(name))), None)
            if forms is None:
                return None
            found += (self._laid(forms[0], item),)
        return found

    def _laid(self, layer: Layer, item: Equipment) -> Layer:
        """Return a mat that she stands on or lands on, as many side by side as the card has of it."""
        count = next((piece.count for piece in self.card.equipment if piece.item == item.id), 1)
        return layer._replace(pieces=max(1, count // max(1, list(self.use.above).count(item.id))))

    def _piles(
        self, items: Sequence[Equipment], base: Sequence[Equipment], taken: Sequence[Layer]
    ) -> Iterator[tuple[Stack, int]]:
        """Yield piles of everything that the card names, on whatever of `base` may lie under it."""
        below = items is self.under
        for wanted, rank in self._named(items, below=below):
            counts = [left // self.use.alike for left in self.stock.left]
            for layer in (*taken, *wanted):
                counts[layer.source] -= layer.pieces
            if min((counts[layer.source] for layer in wanted), default=0) < 0:
                continue
            choices = [
                layer for layer in self._extra(items, base, wanted, below=below) if counts[layer.source] >= layer.pieces
            ]
            single = items[-1].kind == "block"
            for pile in stacks(choices, counts, HIGHEST).values():
                if single and len(pile.layers) > 1 and pile.layers[0].item.id == UNDER_A_BLOCK:
                    continue
                yield Stack((*_firm_first(pile.layers, wanted),)), rank

    def _named(self, items: Sequence[Equipment], *, below: bool) -> Iterator[tuple[tuple[Layer, ...], int]]:
        """Yield the layers that the card names, lowest first, in every form that they can have."""
        each = [self._forms(item, below=below, last=place == len(items) - 1) for place, item in enumerate(items)]
        for way in product(*each):
            found, rank = tuple(layer for layer, _ in way), sum(rank for _, rank in way)
            found = self._wide_enough(found)
            yield found, rank
            last = items[-1]
            if not below and not last.firm:
                count = next((piece.count for piece in self.card.equipment if piece.item == last.id), 1)
                for more in range(1, count - sum(item is last for item in items) + 1):
                    yield (*found, *(found[-1],) * more), rank

    @staticmethod
    def _wide_enough(found: tuple[Layer, ...]) -> tuple[Layer, ...]:
        """Return the layers with as many pieces side by side as what lies on them needs."""
        if len(found) < 2 or found[-1].item.kind == "block":
            return found
        top = found[-1]
        wide = [layer.under(top.long, top.wide) if layer.item.kind == "mat" else layer for layer in found[:-1]]
        return (*(new or old for new, old in zip(wide, found[:-1], strict=True)), top)

    def _forms(self, item: Equipment, *, below: bool, last: bool) -> list[tuple[Layer, int]]:
        """Return the forms of a piece, or of the first that may stand in: as soft, and firm where she pushes.

        Of blocks, and of firm mats under something, every stand-in counts: nothing lands on them, so height decides.
        Under a rail mats lie open.
        """
        found: list[tuple[Layer, int]] = []
        for rank, name in enumerate(self._names(item)):
            other = self.equipment[name]
            if not (other.firm or not item.firm) or not lands_at_least(other, item):
                continue
            if item.kind == "block" and other.kind != "block":
                continue
            forms = [form for form in self.stock.forms(name) if self._form_fits(form, below=below, last=last)]
            if below:
                forms = [self._laid(form, item) for form in forms]
            found += [(form, rank) for form in forms]
            if found and item.kind != "block" and (last or below or not item.firm):
                break
        return found

    def _form_fits(self, layer: Layer, *, below: bool, last: bool) -> bool:
        if below:
            return layer.form in ("", "open")
        return not (last and self.use.form and layer.item.folded_cm) or layer.form == self.use.form

    def _extra(
        self, items: Sequence[Equipment], base: Sequence[Equipment], wanted: Sequence[Layer], *, below: bool
    ) -> Iterator[Layer]:
        """Yield what may lie under what the card names."""
        top = wanted[-1]
        blocks = [item for item in items if item.kind == "block"]
        if blocks:
            named = {name for item in items if item.kind == "mat" for name in self._names(item)}
            for name in named or {UNDER_A_BLOCK}:
                yield from (
                    layer
                    for layer in self.stock.forms(name)
                    if layer.item.firm and (named or layer.form in ("", "open")) and items[-1].kind == "block"
                )
            return
        for item in base:
            if item.kind != "mat" or not item.firm or not item.stackable:
                continue
            for layer in self.stock.forms(item.id):
                if below:
                    if layer.form in ("", "open"):
                        yield layer._replace(pieces=max(one.pieces for one in wanted))
                elif wide := layer.under(top.long, top.wide):
                    yield wide

    def built(self, option: Option, want: Wanted) -> Built:
        """Return an option as it is told."""
        many = self.use.alike
        items = [option.main] if option.main else []
        items += [*option.top, *_items(option.stack, many), *_items(option.above, 1, above=True)]
        return Built(tuple(items), round(option.reached, 1), round(option.reached - want.cm, 1))


def cost(high: float, pieces: int, want: Wanted) -> tuple[float, int, float]:
    """Return what is small for a good build: centimetres outside the tolerance, then pieces to carry, then the rest."""
    off = abs(high - want.cm)
    return round(max(0.0, off - want.tolerance), 1), pieces, round(off, 3)


def _best(options: Iterable[Option], want: Wanted) -> Option | None:
    fits = allowed(want.limit)
    good = (option for option in options if option.reached > 0 and fits(option.reached, want.cm))
    if want.is_cap:  # begin at about half of what is allowed
        half = want.cm / 2
        return min(good, key=lambda option: (option.pieces, option.rank, abs(option.reached - half)), default=None)
    return min(good, key=lambda option: (*cost(option.reached, option.pieces, want), option.rank), default=None)


def _firm_first(extra: Iterable[Layer], named: Sequence[Layer]) -> Iterator[Layer]:
    """Yield the layers from the floor up: firm ones the widest first, what the card has on top last."""
    top = [layer for layer in named if not layer.item.firm] or [named[-1]]
    rest = [*extra, *(layer for layer in named if not any(layer is one for one in top))]
    yield from sorted(rest, key=lambda layer: (-layer.wide, -layer.long, layer.source, -layer.high))
    yield from top


def _items(found: Sequence[Layer], many: int, *, above: bool = False) -> Iterator[BuildItem]:
    """Yield the layers from the floor up, equal ones as one, for `many` alike."""
    seen: dict[tuple[str, str], list[Layer]] = {}
    for layer in found:
        seen.setdefault((layer.item.id, layer.form), []).append(layer)
    for (name, form), same in seen.items():
        words = [form] if (form and form != "open") or same[0].item.folded_cm else []
        if same[0].pieces > 1:
            words.append(f"side by side{f', {len(same)} layers' if len(same) > 1 else ''}")
        count = sum(layer.pieces for layer in same) * many
        yield BuildItem(name, count, same[0].item.name, " ".join(words), sum(layer.high for layer in same), above)

"""One piece of a station, built: a stack under her or beside her, or a rail or beam over mats.

Rules that are never traded for a better fit: what catches her stays what the card says or something that may catch as
much; nothing soft under feet or hands that push; the wide under the narrow, the firm under the soft; a
limit is a limit.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain, product
from typing import NamedTuple

from kb.model import BuildItem, Built, Card, Equipment, SizeUse
from kb.model.size import Limit
from kb.size.pieces import Layer, lands_at_least, settings
from kb.size.stack import Stack, allowed, cost, stacks
from kb.size.stock import Stock


class Wanted(NamedTuple):
    """A height or distance in cm, how far off it may be, and on which side."""

    cm: float
    tolerance: float
    limit: Limit


class Option(NamedTuple):
    """A way to build: what stands, and what lies under her."""

    main: BuildItem | None
    """The rail or beam, set."""
    top: tuple[BuildItem, ...]
    """What is put on the rail or beam (a pad)."""
    stack: tuple[Layer, ...]
    above: tuple[Layer, ...]
    reached: float

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
        if own is not None and abs(own.reached - want.cm) <= want.tolerance:
            return _built(own, want)
        found = _best(chain(self.own, self.any), want)
        return _built(found, want) if found else None

    def nearest(self, want: Wanted) -> tuple[Built, ...]:
        """Return the nearest below and the nearest above that the limit allows."""
        below = _best((o for o in chain(self.own, self.any) if o.reached < want.cm), want)
        above = _best((o for o in chain(self.own, self.any) if o.reached >= want.cm), want)
        return tuple(_built(option, want) for option in (below, above) if option)

    def borrow(self, want: Wanted) -> str:
        """Return the name of the one piece with which the station could be built; empty when none does it."""
        best: tuple[tuple[int, int, float], str] | None = None
        for item in self._could_help():
            found = _best(Maker(self.card, self.use, self.equipment, self.stock.more(item)).any, want)
            if found and abs(found.reached - want.cm) <= want.tolerance:
                price = cost(found.reached, found.pieces, want.cm)
                best = min(best, (price, item.name.lower())) if best else (price, item.name.lower())
        return best[1] if best else ""

    def _could_help(self) -> Iterator[Equipment]:
        if self.main:
            names = (self.main.id, *self.main.instead)
            yield from (self.equipment[name] for name in names if not self.stock.has(name))
        for item in [*self.of, *self.under]:
            if not self.stock.has(item.id) and item is not self.main:
                yield item
        yield from (item for item in self.equipment.values() if item.stackable and item.firm and item.kind == "mat")

    @cached_property
    def own(self) -> list[Option]:
        """Ways from the card's own kit and its stand-ins."""
        names = dict.fromkeys(name for item in (*self.of, *self.under) for name in self._names(item))
        return list(self._options([self.equipment[name] for name in names]))

    @cached_property
    def any(self) -> list[Option]:
        """Ways from everything firm that stacks, mats alone where the card has mats alone."""
        blocks = any(item.kind == "block" for item in self.of)
        kinds = ("mat", "block") if blocks else ("mat",)
        return list(
            self._options(
                [item for item in self.equipment.values() if item.kind in kinds and item.stackable and item.firm]
            )
        )

    def _names(self, item: Equipment) -> tuple[str, ...]:
        own = next((piece.instead for piece in self.card.equipment if piece.item == item.id), ())
        return tuple(dict.fromkeys((item.id, *own, *item.instead)))

    def _options(self, base: Sequence[Equipment]) -> Iterator[Option]:
        if self.main is None:
            fixed = self._fixed_above()
            if fixed is None:
                return
            down = sum(layer.high for layer in fixed)
            for pile in self._piles(self.of, base):
                yield Option(None, (), pile.layers, fixed, pile.high - down)
            return
        top = tuple(BuildItem(item.id, 1, item.name, "on top", item.cm[2]) for item in self.of if item is not self.main)
        raised = sum(item.cm for item in top)
        piles = (
            [pile for pile in self._piles(self.under, base) if pile.high >= self._least] if self.under else [Stack(())]
        )
        for main, pile in product(self._set(self.main), piles):
            yield Option(main, top, (), pile.layers, main.cm + raised - pile.high)

    @cached_property
    def _least(self) -> float:
        """Height in cm of the card's own mats under a rail or beam: what is built there is never thinner."""
        return sum(item.cm[2] for item in self.under)

    def _set(self, item: Equipment) -> Iterator[BuildItem]:
        """Yield the rail or beam, or what stands in for it, at every height that it can have."""
        for name in self._names(item):
            if name in self.stock.set:
                yield self.stock.set[name]
                return
            for place, line in enumerate(self.stock.lines):
                if line.item.id == name and self.stock.left[place] > 0 and line.item.kind == "apparatus":
                    heights = settings(line)
                    form = "set at {:g} cm" if len(heights) > 1 else "at its {:g} cm"
                    for high in heights:
                        yield BuildItem(name, 1, line.item.name, form.format(high), high)

    def _fixed_above(self) -> tuple[Layer, ...] | None:
        """Return the mats from whose top the height is measured, as the card has them; None when they are missing."""
        found: tuple[Layer, ...] = ()
        for item in self.under:
            forms = next((forms for name in self._names(item) if (forms := self.stock.forms(name))), None)
            if forms is None:
                return None
            found += (forms[0],)
        return found

    def _piles(self, items: Sequence[Equipment], base: Sequence[Equipment]) -> Iterator[Stack]:
        """Yield piles that end in what the card has on top, on anything of `base` that is firm and wide enough."""
        for top in self._tops(items):
            need = top[0]
            counts = list(self.stock.left)
            for layer in top:
                counts[layer.source] -= layer.pieces
            choices = []
            for item in base:
                if item.firm and item.stackable:
                    wide = [layer.under(need.long, need.wide) for layer in self.stock.forms(item.id)]
                    choices += [layer for layer in wide if layer and counts[layer.source] >= layer.pieces]
            for pile in stacks(choices, counts, HIGHEST).values():
                yield Stack((*pile.layers, *top))

    def _tops(self, items: Sequence[Equipment]) -> Iterator[tuple[Layer, ...]]:
        """Yield what may lie on top: every soft piece of the card, or the last firm one, or what stands in for it."""
        soft = [item for item in items if not item.firm]
        if not soft:
            yield from ((layer,) for layer in self._forms(items[-1]))
            return
        one_each = product(*(self._forms(item) for item in soft))
        yield from (tuple(way) for way in one_each)
        count = next((piece.count for piece in self.card.equipment if piece.item == soft[-1].id), 1)
        for layer in self._forms(soft[-1]) if len(soft) == 1 else ():
            for many in range(2, min(count, self.stock.left[layer.source]) + 1):
                yield (layer,) * many

    def _forms(self, item: Equipment) -> list[Layer]:
        """Return the forms of a piece, or of the first that may stand in: as soft, and firm where she pushes.

        Of blocks every stand-in counts: nothing lands on them, so the height decides.
        """
        if item.kind == "block":
            return [form for name in self._names(item) if self.equipment[name].firm for form in self.stock.forms(name)]
        for name in self._names(item):
            other = self.equipment[name]
            if (forms := self.stock.forms(name)) and lands_at_least(other, item) and (other.firm or not item.firm):
                return forms if item.firm else forms[:1]
        return []


HIGHEST = 160.0
"""cm above which no stack of mats is built."""


def _best(options: Iterator[Option] | list[Option] | chain[Option], want: Wanted) -> Option | None:
    fits = allowed(want.limit)
    return min(
        (option for option in options if fits(option.reached, want.cm)),
        key=lambda option: cost(option.reached, option.pieces, want.cm),
        default=None,
    )


def _built(option: Option, want: Wanted) -> Built:
    items = [option.main] if option.main else []
    items += [*option.top, *_items(option.stack, above=False), *_items(option.above, above=True)]
    return Built(tuple(items), round(option.reached, 1), round(option.reached - want.cm, 1))


def _items(found: tuple[Layer, ...], *, above: bool) -> Iterator[BuildItem]:
    """Yield the layers from the floor up, equal ones beside one another as one."""
    seen: dict[tuple[str, str], BuildItem] = {}
    for layer in found:
        key = (layer.item.id, layer.form)
        old = seen.get(key)
        seen[key] = BuildItem(
            layer.item.id,
            layer.pieces + (old.count if old else 0),
            layer.item.name,
            layer.form,
            layer.high + (old.cm if old else 0.0),
            above,
        )
    yield from seen.values()

"""The parts of a sheet: a question with its causes and drills, a ladder, a fault, a plan, a list of cards."""

from collections.abc import Iterator
from pathlib import Path

import msgspec

from kb.errors import FileUnusable, UnknownName
from kb.handout.drill import drawing_of, levels
from kb.handout.plain import clean
from kb.handout.sizes import Fitter, largest
from kb.handout.source import Source
from kb.model import Answer, Card, Fault, Ladder, Rung
from kb.model.sheet import SheetCause, SheetKind, SheetOrder, SheetPart, SheetRung, SheetSign, SheetTurn
from kb.search.fit import why_set_aside

READ = {
    "level": "level",
    "event": "event",
    "age": "age",
    "height_cm": "height",
    "without": "missing kit",
    "spotters": "spotters",
    "group": "group size",
}
"""Fields of a question that words can set, as the sheet names them."""
NOTHING_LEFT = "Nothing in the library fits these limits. Take one back, or ask for another level or kit."
NO_MATCH = "No good match: these words do not point clearly to a fault in the library, so no drill is printed."
NO_DRILL = "No drill is given for this. drillkb does not diagnose; a medical professional does."


class Turn(msgspec.Struct, frozen=True):
    """One group of one slot of a plan."""

    group: str = ""
    event: str = ""
    card: str | None = None
    coach: str | None = None


class Slot(msgspec.Struct, frozen=True):
    """One slot of a plan."""

    slot: int = 0
    start: str = ""
    minutes: float = 0
    rotation: tuple[Turn, ...] = ()


class PlanFile(msgspec.Struct, frozen=True):
    """The part of a plan that is printed."""

    slots: tuple[Slot, ...]


class Parts:
    """Makes the parts of one order."""

    def __init__(self, order: SheetOrder, kind: SheetKind, source: Source, fitter: Fitter) -> None:
        self.order, self.kind, self.source, self.fitter = order, kind, source, fitter
        self.words, self.level = source.vocabulary, fitter.level

    def all(self) -> Iterator[SheetPart]:
        """Yield the parts in the order in which they stand on the sheet."""
        order = self.order
        for text in order.questions:
            yield self._question(text)
        if order.fault is not None:
            yield self._fault(order.fault)
        if order.ladder is not None:
            yield self._ladder(order.ladder)
        if order.plan is not None:
            yield self._plan(order.plan)
        if order.cards:
            if unknown := [name for name in order.cards if name not in self.source.index.card_ids]:
                raise UnknownName("card", unknown, self.source.index.card_ids)
            yield SheetPart(title="Drills", drills=order.cards)
        if not any((order.questions, order.fault, order.ladder, order.plan, order.cards)):
            yield from self._events()

    # --- questions

    def _question(self, text: str) -> SheetPart:
        order = self.order
        answer = self.source.ask(
            text,
            event=order.event,
            level=self.level,
            without=order.without,
            kit=self.fitter.kit,
            spotters=order.spotters,
            height=round(order.height) if order.height is not None else None,
            age=int(order.age) if order.age is not None else None,
            top=order.top,
        )
        asked = clean(text)
        if answer.caution:
            sign = answer.caution
            shown = SheetSign(clean(sign.name), clean(sign.say), clean(sign.source), clean(sign.heard))
            return SheetPart(title="Stop and refer", asked=asked, sign=shown, about=(NO_DRILL,))
        if answer.verdict == "no_good_match":
            near = [f"{fault.name} ({fault.event})" for fault in answer.faults]
            meant = (clean(f"Did you mean: {'; '.join(near)}?"),) if near else ()
            return SheetPart(title="No good match", asked=asked, about=(NO_MATCH, *meant))
        about = tuple(map(clean, self._about(answer)))
        aside = tuple(clean(_aside(item.title, item.reason, item.instead)) for item in answer.set_aside)
        drills = tuple(drill.id for drill in answer.drills)
        if answer.ladder:
            return self._ladder_part(answer.ladder, asked=asked, about=about, drills=drills, aside=aside)
        return self._fault_part(self.words.faults[answer.faults[0].id], asked, about, drills, aside)

    def _about(self, answer: Answer) -> Iterator[str]:
        question = answer.question
        read = [f'{READ[name]} ("{said}")' for name, said in question.read.items() if name in READ]
        if read:
            yield f"Read from the words: {', '.join(read)}."
        if question.corrections:
            yield f"Mended: {', '.join(f'{typed} as {meant}' for typed, meant in question.corrections)}."
        if answer.which_event:
            yield f"The words fit {' and '.join(answer.which_event)}; ask again with the event to be sure."
        if len(answer.faults) > 1:
            yield f"It may also be: {'; '.join(f'{fault.name} ({fault.event})' for fault in answer.faults[1:])}."
        if not answer.drills:
            yield NOTHING_LEFT

    # --- faults

    def _fault(self, name: str) -> SheetPart:
        faults = self.words.faults
        if name not in faults:
            raise UnknownName("fault", [name], faults)
        fault = faults[name]
        first = [card for cause in fault.causes for card in cause.first]
        more = [card for card, _, _ in self.source.index.cards_of_fault.get(name, [])]
        known = set(self.source.index.card_ids)
        kept, aside = self._split([card for card in dict.fromkeys([*first, *more]) if card in known])
        drills = tuple(card.id for card in kept)[: max(self.order.top, len(fault.causes))]
        return self._fault_part(fault, "", () if drills else (NOTHING_LEFT,), drills, aside)

    def _fault_part(
        self, fault: Fault, asked: str, about: tuple[str, ...], drills: tuple[str, ...], aside: tuple[str, ...]
    ) -> SheetPart:
        return SheetPart(
            title=clean(fault.name),
            asked=asked,
            about=about,
            looks_like=clean(fault.looks_like),
            causes=tuple(SheetCause(clean(cause.name), clean(cause.tell)) for cause in fault.causes),
            drills=drills,
            aside=aside,
        )

    # --- ladders

    def _ladder(self, name: str) -> SheetPart:
        order, have = self.order, self.fitter.have
        ladder = self.source.ladder(name, level=self.level, without=order.without, have=have, spotters=order.spotters)
        aside = tuple(clean(_aside(item.title, item.reason, item.instead)) for item in ladder.set_aside)
        drills = () if self.kind == "ladder" else tuple(rung.card for rung in ladder.rungs if not rung.closed)
        return self._ladder_part(ladder, drills=drills, aside=aside)

    def _ladder_part(
        self,
        ladder: Ladder,
        *,
        asked: str = "",
        about: tuple[str, ...] = (),
        drills: tuple[str, ...] = (),
        aside: tuple[str, ...] = (),
    ) -> SheetPart:
        start = ladder.start if self.level is not None else None
        return SheetPart(
            title=clean(f"The way to {self.words.skills[ladder.skill].name}"),
            asked=asked,
            about=about,
            rungs=tuple(self._rung(rung, start=rung.rung == start) for rung in ladder.rungs),
            drills=drills,
            aside=aside,
        )

    def _rung(self, rung: Rung, *, start: bool) -> SheetRung:
        card, words = self.source.card(rung.card), self.words
        others = (_other(self.source.card(name).title, rung.ways[name]) for name in rung.instead)
        drawing = None
        if self.kind == "ladder":
            drawing = drawing_of(card, words, largest(self.fitter.fit(card)[0]))
        return SheetRung(
            rung=rung.rung,
            drill=rung.card,
            title=clean(rung.title),
            about=clean(f"{words.stages[rung.stage].name}, {levels(card)}. {words.spotting[rung.spotting].name}."),
            ready_when=clean(rung.ready_when),
            others=tuple(map(clean, others)),
            start=start,
            closed=clean(rung.closed),
            picture=drawing.svg if drawing else "",
            picture_says=clean(drawing.says) if drawing else "",
        )

    # --- plans and books

    def _plan(self, path: Path) -> SheetPart:
        plan = read_plan(path)
        cards, events = self.source.index.card_ids, self.words.events
        named = [turn.card for slot in plan.slots for turn in slot.rotation if turn.card]
        if unknown := [name for name in dict.fromkeys(named) if name not in cards]:
            raise UnknownName("card", unknown, cards)
        turns = tuple(
            SheetTurn(
                clean(f"{slot.start or slot.slot} ({slot.minutes:g} min)"),
                clean(turn.group),
                clean(events[turn.event].name if turn.event in events else turn.event),
                turn.card or "",
                clean(turn.coach or ""),
            )
            for slot in plan.slots
            for turn in slot.rotation
        )
        return SheetPart(title="Stations and rotation", turns=turns, drills=tuple(dict.fromkeys(named)))

    def _events(self) -> Iterator[SheetPart]:
        for name, event in self.words.events.items():
            if self.order.event in (None, name):
                kept, aside = self._split(
                    [card for card in self.source.index.card_ids if self.source.card(card).event == name]
                )
                about = (f"{len(aside)} drills of this event are outside the limits and not printed.",) if aside else ()
                yield SheetPart(title=clean(event.name), about=about, drills=tuple(card.id for card in kept))

    def _split(self, names: list[str]) -> tuple[list[Card], tuple[str, ...]]:
        """Return the cards inside the order's limits, and a line for each of the others."""
        cards = [self.source.card(name) for name in names]
        why = [why_set_aside(card, self.fitter.limits, self.source.index) for card in cards]
        aside = tuple(
            clean(_aside(card.title, reason, None)) for card, reason in zip(cards, why, strict=True) if reason
        )
        return [card for card, reason in zip(cards, why, strict=True) if not reason], aside


def read_plan(path: Path) -> PlanFile:
    """Read a plan as `drillkb plan --json` prints it. Raises FileUnusable."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=PlanFile)
    except FileNotFoundError:
        raise FileUnusable(path, 0, "there is no such file; 'drillkb plan ... --json' prints one.") from None
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be read ({error.strerror}).") from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise FileUnusable(
            path, 0, f"is no plan in JSON ({error}); print one with 'drillkb plan ... --json'."
        ) from None


def _other(title: str, way: str) -> str:
    return title if way == "another way" else f"{title} ({way})"


def _aside(title: str, reason: str, instead: str | None) -> str:
    return f"{title}: {reason}{f'; instead: {instead}' if instead else ''}"

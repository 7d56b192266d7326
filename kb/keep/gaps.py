"""The holes of a library: faults, levels, kit, hands and rungs that nothing or too little is there for."""

from collections.abc import Callable, Iterator

from kb.ladder import skill_rungs
from kb.library import Collection
from kb.model import Answer, Card, Fault
from kb.model.keep import Gap

Ask = Callable[[str, str], Answer]
"""Answers words with the event known."""
Progress = Callable[[int, int], None]

LOW = 3
"""Order of the highest stage that counts as low (stages.yaml)."""
HANDS = 2
"""Order of the lowest spotting grade that needs a person at the station (spotting.yaml)."""
HELPS = 2
"""Weight from which a card counts as being for a fault: 1 is a side effect."""
EVERYWHERE = ("hall", "target", "hand")
"""Kinds of kit that every hall has: walls, lines, beanbags, towels."""
FEWEST_RUNGS = 3
"""Rungs that a ladder has at least (common practice, no source)."""


def find_gaps(collection: Collection, ask: Ask | None = None, progress: Progress | None = None) -> tuple[Gap, ...]:
    """Return every hole, by kind and event.

    With `ask`, each way a fault is heard in the vocabulary is asked, and told when another fault comes first; about
    15 ms each. `progress` is called with ways asked and in all.
    """
    found = [gap for fault in collection.vocabulary.faults.values() for gap in _of_fault(fault, collection)]
    found += _ladders(collection)
    if ask is not None:
        found += heard_wrongly(collection, ask, progress)
    return tuple(sorted(found))


def _of_fault(fault: Fault, collection: Collection) -> Iterator[Gap]:
    words = collection.vocabulary
    uses = ((card, use) for card in collection.cards.values() for use in card.corrects)
    cards = [card for card, use in uses if use.fault == fault.id and use.weight >= HELPS]
    bare = set(words.reading.bare_kit) if words.reading else set()

    def kit_free(card: Card) -> bool:
        kit = (words.equipment[piece.item] for piece in card.equipment)
        return all(item.kind in EVERYWHERE or item.id in bare for item in kit)

    if not any(words.stages[card.stage].order <= LOW for card in cards):
        yield Gap("no low stage", fault.event, fault.id, f"none of its {len(cards)} cards is of a low stage")
    if missing := [level for level in _levels(fault, collection) if not any(card.fits_level(level) for card in cards)]:
        levels = ", ".join(map(str, missing))
        yield Gap(
            "level", fault.event, fault.id, f"no card for it is open at level {levels}, where a skill of it is usual"
        )
    if not any(kit_free(card) for card in cards):
        yield Gap("needs kit", fault.event, fault.id, "no card for it runs with mats and what every hall has")
    if not any(words.spotting[card.spotting.grade].order < HANDS for card in cards):
        yield Gap("needs a spotter", fault.event, fault.id, "no card for it runs without a spotter")


def _levels(fault: Fault, collection: Collection) -> list[int]:
    """Return the levels of the vocabulary at which any skill of the fault is usual."""
    words = collection.vocabulary
    found: set[int] = set()
    for skill in (words.skills[name] for name in fault.skills if name in words.skills):
        low, _, high = str(skill.level).partition("-")
        found |= set(range(int(low), int(high or low) + 1))
    return [level for level in words.levels if level in found]


def _ladders(collection: Collection) -> Iterator[Gap]:
    words = collection.vocabulary
    for skill in words.skills.values():
        rungs = skill_rungs(skill.id, collection.cards, words.stages)
        thin = [str(number) for number, names in enumerate(rungs, start=1) if len(names) == 1]
        if len(rungs) < FEWEST_RUNGS:
            yield Gap("thin ladder", skill.event, skill.id, f"has {len(rungs)} rungs; {FEWEST_RUNGS} are the fewest")
        elif thin:
            text = f"of {len(rungs)} rungs these have one card and no other way to the same step: {', '.join(thin)}"
            yield Gap("thin ladder", skill.event, skill.id, text)


def heard_wrongly(collection: Collection, ask: Ask, progress: Progress | None = None) -> Iterator[Gap]:
    """Yield the ways a fault is heard that lead to another fault first, or to none."""
    ways = [(fault, way) for fault in collection.vocabulary.faults.values() for way in fault.heard_as]
    for number, (fault, way) in enumerate(ways, start=1):
        answer = ask(way, fault.event)
        first = answer.faults[0].id if answer.faults else ""
        if first != fault.id:
            yield Gap("heard wrongly", fault.event, fault.id, f'"{way}" leads to {first or _what(answer)}')
        if progress and (number % 50 == 0 or number == len(ways)):
            progress(number, len(ways))


def _what(answer: Answer) -> str:
    if answer.ladder:
        return f"the ladder of {answer.ladder.skill}"
    return {"stop_and_refer": "a stop sign", "no_good_match": "no good match"}.get(answer.verdict, "no fault")
